// What the outbox holds, in sight: a mark on the drawing and a line above the table, until it is stored.

import { ring } from "./place.js";

const ACTS = { change: "the change of", move: "the move of", remove: "the removal of" };

// "0.2 mL, front view", or "the change of point 3".
export function described({ kind, fields, about }) {
  return kind === "log" ? `${fields.amount} ${about.measure}, ${fields.view} view` : `${ACTS[kind]} point ${about.number}`;
}

function button(label, act, danger = false) {
  const node = document.createElement("button");
  node.type = "button";
  node.className = danger ? "button button--danger" : "button";
  node.textContent = label;
  node.addEventListener("click", act);
  return node;
}

function paragraph(words) {
  const node = document.createElement("p");
  node.textContent = words;
  return node;
}

function signIn() {
  const link = document.createElement("a");
  Object.assign(link, { href: location.href, target: "_blank", className: "button", textContent: "Sign in" });
  return link;
}

function line(entry, outbox, settings) {
  const item = document.createElement("li");
  item.className = `waiting__row waiting__row--${entry.state}`;
  item.append(paragraph(`Not stored yet: ${described(entry)}. ${entry.message || "Sending …"}`));
  if (!entry.message) {
    return item;
  }
  const isPoint = entry.kind === "log";
  const isRefused = entry.state === "refused";
  if (entry.signedOut) {
    item.append(signIn());
  }
  // A refused point is sent with the settings as they are now; what was only not answered goes as it is.
  if (isPoint && isRefused) {
    item.append(button("Send with the settings above", () => outbox.retry(entry.id, settings.read())));
    item.append(button("It was not injected", () => outbox.discard(entry.id), true));
  } else {
    item.append(button("Retry", () => outbox.retry(entry.id)));
    if (!isPoint) {
      item.append(button("Leave it as it was", () => outbox.discard(entry.id), true));
    }
  }
  return item;
}

// Points that wait for the same reason share a line: a long list of them would hide the table.
function sharedLine(entries, outbox) {
  const [{ message, signedOut }] = entries;
  const item = document.createElement("li");
  item.className = "waiting__row waiting__row--waiting";
  const what = entries.map(described).join("; ");
  item.append(paragraph(`${entries.length} points not stored yet: ${what}. ${message} They are kept on this tablet.`));
  if (signedOut) {
    item.append(signIn());
  }
  item.append(button("Retry", () => entries.forEach(({ id }) => outbox.retry(id))));
  return item;
}

export function showWaiting(outbox, settings) {
  for (const old of document.querySelectorAll("g.pending")) {
    old.remove();
  }
  const entries = outbox.open;
  const alike = entries.filter(({ kind, state, message }) => kind === "log" && state === "waiting" && message);
  const shared = alike.length > 1 ? alike : [];
  const lines = entries.filter((entry) => !shared.includes(entry)).map((entry) => line(entry, outbox, settings));
  if (shared.length) {
    lines.unshift(sharedLine(shared, outbox));
  }
  document.querySelector("[data-waiting]").replaceChildren(...lines);
  for (const { kind, about, fields, message } of entries) {
    if (kind === "log" || kind === "move") {
      const name = message ? "pending pending--late" : "pending";
      ring(fields.view ?? about.view, name, Number(fields.x_dmm), Number(fields.y_dmm), 2.6);
    }
  }
}

// What the outbox holds, in sight: a mark on the drawing and a line in the list, until it is stored.

import { ring } from "./place.js";

function line(entry, outbox, settings) {
  const item = document.createElement("li");
  item.className = `waiting__row waiting__row--${entry.state}`;
  const text = document.createElement("p");
  const amount = `${entry.fields.amount} on the ${entry.fields.view} view`;
  text.textContent = `Not stored yet: ${amount}. ${entry.message || "Sending …"}`;
  item.append(text);
  if (!entry.message) {
    return item;
  }
  const retry = document.createElement("button");
  retry.type = "button";
  retry.className = "button";
  // What was refused is sent with the settings as they are now; what was only not answered goes as it is.
  const isRefused = entry.state === "refused";
  retry.textContent = isRefused ? "Send with the settings above" : "Retry";
  retry.addEventListener("click", () => outbox.retry(entry.key, isRefused ? settings.read() : {}));
  item.append(retry);
  if (isRefused) {
    const drop = document.createElement("button");
    drop.type = "button";
    drop.className = "button button--danger";
    drop.textContent = "It was not injected";
    drop.addEventListener("click", () => outbox.discard(entry.key));
    item.append(drop);
  }
  return item;
}

export function showWaiting(outbox, settings) {
  for (const old of document.querySelectorAll("g.pending")) {
    old.remove();
  }
  const list = document.querySelector("[data-waiting]");
  list.replaceChildren(...outbox.open.map((entry) => line(entry, outbox, settings)));
  for (const entry of outbox.open) {
    const name = entry.message ? "pending pending--late" : "pending";
    ring(entry.fields.view, name, Number(entry.fields.x_dmm), Number(entry.fields.y_dmm), 2.6);
  }
}

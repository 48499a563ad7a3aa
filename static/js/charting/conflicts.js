// One operation that a person has to settle: what this tablet did, what the clinic's record holds, and the choices.

import { button, icon, node } from "./dom.js";
import { problem } from "./say.js";

const AGAIN = { act: "again", label: "Send it again" };
const DROP = { act: "drop", label: "Leave it out: it did not happen" };
const CHANGE = { act: "choose", label: "Change how it was given" };
const ANEW = { act: "anew", label: "Put it into a new session of this patient" };
const FROM_OTHER = { act: "other_unit", label: "It came from another unit" };
const POINTS = ["log", "change"];
const TITLES = {
  conflict: { sign: "stop", title: "Two versions: please decide" },
  refused: { sign: "stop", title: "Not taken: please decide" },
  hold: { sign: "state-due", title: "Waits for something that has not arrived" },
};

// The server's own choices, or those that fit what was refused.
function choicesOf({ op, conflict, state }, session) {
  if (state === "hold") {
    return [DROP];
  }
  if (conflict?.choices?.length) {
    return conflict.choices;
  }
  if (POINTS.includes(op.kind)) {
    return [CHANGE, FROM_OTHER, DROP];
  }
  if (op.kind === "picture" && session?.set_aside_at) {
    return [ANEW, DROP];
  }
  return op.kind === "waste" || op.kind === "open" ? [AGAIN, FROM_OTHER, DROP] : [AGAIN, DROP];
}

function otherUnits(screen, op) {
  const units = screen.units.filter(({ pk }) => pk !== op.data.unit);
  return [
    node("p", {}, units.length ? "From which unit?" : "Open the other unit first, then choose it here."),
    units.map((unit) => button({ "data-settle-unit": unit.pk }, `${unit.label}, ${unit.product_name}`)),
  ];
}

function reasonField(label, help) {
  return [
    node("label", { class: "field" }, node("span", { class: "field__label" }, label),
      node("input", { class: "input", "data-settle-reason": true, maxlength: 300 }), node("span", { class: "field__help" }, help)),
    button({ class: "button button--primary", "data-settle-done": true }, "Write it down"),
  ];
}

// What a choice asks for before it can be carried out; null where it can be at once.
function questionOf(screen, { op }, act) {
  if (act === "deviation") {
    return reasonField("Write down why it was used", "Only for what has happened. It is shown as a flag on the note.");
  }
  if (act === "other_unit") {
    return otherUnits(screen, op);
  }
  if (act === "drop") {
    return hangingList(screen, op);
  }
  return null;
}

// What makes no sense without it, named before it goes.
function hangingList({ app }, { id }) {
  const gone = new Set(app.hanging(id).map((op) => op.id));
  const rows = app.waiting.filter(({ op }) => gone.has(op.id));
  return rows.length
    ? [
      node("p", {}, "With it goes what builds on it:"),
      node("ul", { class: "attention__hanging" }, rows.map(({ words }) => node("li", {}, words))),
      button({ class: "button button--danger", "data-settle-drop": true }, `Leave out all ${rows.length + 1}`),
    ]
    : null;
}

export function asks(screen, record, act) {
  return questionOf(screen, record, act) !== null;
}

function versions({ conflict }) {
  if (!conflict?.here && !conflict?.there) {
    return null;
  }
  return node(
    "dl", { class: "versions" },
    conflict.here ? node("div", {}, node("dt", {}, "On this tablet"), node("dd", {}, conflict.here)) : null,
    conflict.there ? node("div", {}, node("dt", {}, "In the clinic’s record"), node("dd", {}, conflict.there)) : null,
  );
}

// asking: {id, act, trouble} of the choice that waits for an answer, or null.
export function attentionCard(screen, record, asking) {
  const { id, state, message, words } = record;
  const own = asking?.id === id ? asking : null;
  const { sign, title } = TITLES[state];
  const acts = choicesOf(record, screen.state).map(({ act, label }) => button(
    { class: act === "drop" ? "button button--danger" : "button", "data-settle": act, "aria-expanded": asks(screen, record, act) ? String(own?.act === act) : null }, label,
  ));
  return node(
    "article", { class: `attention attention--${state}`, "data-key": id, "data-attention": id, tabindex: "-1" },
    node("h3", {}, icon(sign), ` ${title}`),
    node("p", {}, words),
    message && message !== record.conflict?.there ? node("p", { class: "attention__why" }, message) : null,
    versions(record), problem(own?.trouble ?? ""),
    node("div", { class: "attention__acts" }, acts),
    own ? node("div", { class: "attention__more" }, questionOf(screen, record, own.act)) : null,
  );
}

// What a person has to look at before it can be stored in the clinic. Nothing is decided here without being asked.

import { asks, attentionCard } from "./conflicts.js";
import { pluralOf } from "./dates.js";
import { drawOnChange, icon, node, on, patch } from "./dom.js";

const UNSETTLED = ["refused", "conflict"];

// {op, state, message, conflict} with the operation's id, those of one session or of all.
export function attentionOf(app, sessionKey = null) {
  return app.waiting
    .filter(({ op, state }) => UNSETTLED.includes(state) && (!sessionKey || op.session === sessionKey))
    .map((record) => ({ id: record.op.id, ...record }));
}

// Those the clinic holds back though nothing on this tablet stands before them: what they build on may never come.
function heldOf(app, sessionKey) {
  return app.waiting
    .filter(({ op, state, isFree }) => state === "hold" && isFree && op.session === sessionKey)
    .map((record) => ({ id: record.op.id, ...record }));
}

function heldLine(app, sessionKey) {
  const held = app.waiting.filter(({ op, state, isFree }) => state === "hold" && !isFree && op.session === sessionKey).length;
  return held ? node("p", { class: "attention__held" }, icon("state-due"), ` ${pluralOf(held, "entry waits", "entries wait")} for what stands above or is still on its way.`) : null;
}

export function attachWaiting(screen, root) {
  const { app } = screen;
  let asking = null;
  let seen = 0;
  const draw = () => {
    const records = screen.sessionKey ? [...attentionOf(app, screen.sessionKey), ...heldOf(app, screen.sessionKey)] : [];
    patch(root, records.map((record) => attentionCard(screen, record, asking)), records.length ? heldLine(app, screen.sessionKey) : null);
    root.hidden = !records.length;
    if (records.length > seen) {
      root.scrollIntoView({ block: "nearest" });
    }
    seen = records.length;
  };
  const later = drawOnChange(screen, draw);
  app.addEventListener("waiting", later);

  const settle = (id, act, extra = {}) => {
    asking = null;
    app.resolve(id, act, extra);
    screen.say("Settled. It is sent when the clinic can be reached.");
    screen.changed();
  };
  const idOf = (element) => element.closest("[data-attention]").dataset.attention;
  on(root, "click", "data-settle", (pressed) => {
    const id = idOf(pressed);
    const act = pressed.dataset.settle;
    const record = [...attentionOf(app), ...heldOf(app, screen.sessionKey)].find((each) => each.id === id);
    if (asks(screen, record, act)) {
      asking = { id, act, trouble: "" };
      draw();
      root.querySelector(".attention__more :is(input, button)")?.focus();
    } else {
      settle(id, act, act === "edit" ? { data: screen.next } : {});
    }
  });
  on(root, "click", "data-settle-unit", (pressed) => settle(idOf(pressed), "other_unit", { unit: Number(pressed.dataset.settleUnit) }));
  on(root, "click", "data-settle-drop", (pressed) => settle(idOf(pressed), "drop"));
  on(root, "click", "data-settle-done", (pressed) => {
    const reason = root.querySelector("[data-settle-reason]").value.trim();
    if (reason) {
      settle(idOf(pressed), asking.act, { reason });
    } else {
      asking = { ...asking, trouble: "Write a few words: why was it used?" };
      draw();
    }
  });
}

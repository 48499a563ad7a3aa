// What a person has to look at before it can be stored in the clinic. Nothing is decided here without being asked.

import { asks, attentionCard } from "./conflicts.js";
import { pluralOf } from "./dates.js";
import { drawOnChange, icon, node, on, patch } from "./dom.js";
import { askAmount } from "./keypad.js";
import { doubtOfUnit } from "./plausibility.js";

const UNSETTLED = ["refused", "conflict"];

const withId = (record) => ({ id: record.op.id, ...record });

// {op, state, message, conflict} with the operation's id, those of one session or of all.
export function attentionOf(app, sessionKey = null) {
  return app.waiting
    .filter(({ op, state }) => UNSETTLED.includes(state) && (!sessionKey || op.session === sessionKey))
    .map(withId);
}

// Those the clinic holds back. If one is free nothing on this tablet stands before it: what it builds on may never come.
function heldOf({ app, sessionKey }, free) {
  return app.waiting.filter(({ op, state, isFree }) => state === "hold" && isFree === free && op.session === sessionKey).map(withId);
}

function heldLine(screen) {
  const held = heldOf(screen, false).length;
  return held ? node("p", { class: "attention__held" }, icon("state-due"), ` ${pluralOf(held, "entry waits", "entries wait")} for what stands above or is still on its way.`) : null;
}

const idOf = (element) => element.closest("[data-attention]").dataset.attention;

// `asking`: {id, act, trouble} of the choice that waits for an answer, or null; `seen`: how many cards were drawn last.
class Waiting {
  constructor(screen, root) {
    Object.assign(this, { screen, root, asking: null, seen: 0 });
  }

  get records() {
    const { app, sessionKey } = this.screen;
    return sessionKey ? [...attentionOf(app, sessionKey), ...heldOf(this.screen, true)] : [];
  }

  draw() {
    const { screen, root, records, asking } = this;
    patch(root, records.map((record) => attentionCard(screen, record, asking)), records.length ? heldLine(screen) : null);
    root.hidden = !records.length;
    if (records.length > this.seen) {
      root.scrollIntoView({ block: "nearest" });
    }
    this.seen = records.length;
  }

  settle(id, act, extra = {}) {
    const { screen } = this;
    this.asking = null;
    screen.app.resolve(id, act, extra);
    screen.say("Settled. It is sent when the clinic can be reached.");
    screen.changed();
  }

  choose(id, act) {
    const { screen, root } = this;
    const record = this.records.find((each) => each.id === id);
    if (act === "edit" && "amount" in record.op.data) {
      this.changeAmount(record);
    } else if (act === "choose") {
      this.choosePoint(record);
    } else if (asks(screen, record, act)) {
      this.asking = { id, act, trouble: "" };
      this.draw();
      root.querySelector(".attention__more :is(input, button)")?.focus();
      root.querySelector(".attention__more").scrollIntoView({ block: "nearest" });
    } else {
      this.settle(id, act);
    }
  }

  // The amount of what was refused, asked for on the pad: of its point, or of what was thrown away.
  changeAmount({ id, op, message }) {
    const { screen } = this;
    const { key, unit: pk, amount } = op.data;
    const point = screen.points.find((each) => each.key === key);
    const unit = screen.units.find((each) => each.pk === (point?.unit ?? pk));
    askAmount({
      title: point ? `Amount of point ${point.number}` : "Change the amount",
      measure: point?.measure ?? unit?.measure ?? "volume",
      amount: point?.amount ?? amount, help: message,
      doubt: (said) => (point ? doubtOfUnit(said, unit, screen.app.day) : null),
      act: (said, _choice, confirmed) => (point
        ? screen.change(point, { amount: said, confirmed_odd: confirmed })
        : this.settle(id, "edit", { data: { amount: said } })),
    });
  }

  // The panel then shows how the point was given; what is changed there is sent in its place.
  choosePoint({ op }) {
    this.screen.choose(op.data.key);
    document.querySelector("[data-settings] [data-setting]")?.focus();
  }

  giveReason(id) {
    const reason = this.root.querySelector("[data-settle-reason]").value.trim();
    if (reason) {
      this.settle(id, this.asking.act, { reason });
    } else {
      this.asking.trouble = "Write a few words: why was it used?";
      this.draw();
    }
  }
}

export function attachWaiting(screen, root) {
  const waiting = new Waiting(screen, root);
  screen.app.addEventListener("waiting", drawOnChange(screen, () => waiting.draw()));
  on(root, "click", "data-settle", (pressed) => waiting.choose(idOf(pressed), pressed.dataset.settle));
  on(root, "click", "data-settle-unit", (pressed) => waiting.settle(idOf(pressed), "other_unit", { unit: Number(pressed.dataset.settleUnit) }));
  on(root, "click", "data-settle-drop", (pressed) => waiting.settle(idOf(pressed), "drop"));
  on(root, "click", "data-settle-done", (pressed) => waiting.giveReason(idOf(pressed)));
}

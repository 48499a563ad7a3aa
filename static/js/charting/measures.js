// The note of the session, and the few measures of a patient's own face that scale the chart.

import { button, drawOnChange, icon, node, on, patch } from "./dom.js";
import { askAmount } from "./keypad.js";
import { problem } from "./say.js";

// What each measure is; the range is far outside any adult face and only catches a slip of the finger (no source).
const MEASURES = {
  pupil_dmm: { label: "Pupil distance", help: "Centre to centre, looking far.", least: 400, most: 900 },
  face_height_dmm: { label: "Face height", help: "Nasion to gnathion (n–gn).", least: 700, most: 1900 },
  face_width_dmm: { label: "Face width", help: "Zygion to zygion (zy–zy).", least: 800, most: 2000 },
};
const SETTLE_MS = 900;
const LEFT = "charting-note";

function measureRow(name, value) {
  const { label, help } = MEASURES[name];
  return node(
    "div", { class: "measure" },
    node("span", {}, node("b", {}, label), node("span", { class: "points__sub" }, help)),
    button({ class: "button", "data-measure": name, "aria-label": `${label}: ${value ? `${value / 10} mm` : "not measured"}. Change` }, value ? `${value / 10} mm` : "–"),
    value ? button({ class: "button button--plain button--icon", "data-measure-clear": name }, icon("close", `Take ${label.toLowerCase()} away`)) : null,
  );
}

function jawRow(screen) {
  const { state } = screen;
  const locked = screen.points.length > 0;
  const choices = screen.app.reference.words.jaw.map(([key, label]) => button(
    { class: "chip", "data-jaw": key, "aria-pressed": String(state.jaw === key), disabled: locked && state.jaw !== key }, label,
  ));
  return node("div", { class: "field" }, node("p", { class: "field__label" }, "Outline of the drawing"),
    node("div", { class: "chips", role: "group", "aria-label": "Outline of the drawing" }, choices),
    node("p", { class: "field__help" }, "It stays as it is while points are on it."));
}

function askMeasure(screen, name) {
  const { label, help, least, most } = MEASURES[name];
  askAmount({
    title: label, help: `${help} In millimetres.`, measure: "length", amount: screen.state.measures[name],
    act: (dmm) => {
      if (dmm < least || dmm > most) {
        return `${label} is mostly between ${least / 10} and ${most / 10} mm: check ${dmm / 10} mm.`;
      }
      screen.act("edit", { [name]: dmm });
      screen.say(`${label}: ${dmm / 10} mm. The chart is scaled to it.`);
      return "";
    },
  });
}

// What is typed of the note: one act once the hand rests, or leaves the field or the page.
class Typing {
  constructor(screen) {
    Object.assign(this, { screen, timer: null, typed: null });
  }

  type(note) {
    this.typed = { session: this.screen.sessionKey, note };
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.store(), SETTLE_MS);
  }

  store() {
    const { screen, typed } = this;
    clearTimeout(this.timer);
    if (typed && typed.note !== screen.app.session(typed.session)?.note) {
      screen.app.act("edit", typed.session, { note: typed.note });
      screen.sayStored("Note changed.", (state) => state.where);
    }
    this.typed = null;
  }

  // A page that goes is gone before the disk has taken it: the tab keeps it until the disk has, or the page is back.
  leave() {
    const { app } = this.screen;
    const was = this.typed && app.user ? app.session(this.typed.session)?.note : undefined;
    if (was !== undefined && was !== this.typed.note) {
      sessionStorage.setItem(LEFT, JSON.stringify({ ...this.typed, was, author: app.user.id }));
      this.store();
      app.queue.write().finally(() => sessionStorage.removeItem(LEFT));
    }
  }

  // Only onto the note it was typed in: what another tablet wrote meanwhile stands.
  takeUp() {
    const { app } = this.screen;
    const left = JSON.parse(sessionStorage.getItem(LEFT));
    sessionStorage.removeItem(LEFT);
    const state = left?.author === app.user?.id ? app.session(left?.session) : null;
    if (state?.is_open && state.note === left.was) {
      this.typed = { session: left.session, note: left.note };
      this.store();
    }
  }
}

function noteField({ state, isOpen }) {
  return isOpen
    ? node("label", { class: "field" }, node("span", { class: "field__label" }, "Note"), node("textarea", { class: "input note", "data-note-text": true, rows: 4, maxlength: 10000 }, state.note))
    : node("p", { class: "note__read" }, state.note || "No note.");
}

function measureParts(screen) {
  return [
    node("h3", {}, "Measures of this face"),
    node("p", { class: "quiet small" }, "They scale the chart to this patient’s face and grade nothing. A point keeps its region and place in millimetres."),
    node("div", { class: "measures" }, Object.keys(MEASURES).map((name) => measureRow(name, screen.state.measures?.[name]))),
    jawRow(screen), problem(""),
  ];
}

export function attachMeasures(screen, root) {
  const typing = new Typing(screen);
  const store = () => typing.store();
  drawOnChange(screen, () => {
    const { state, isOpen } = screen;
    if (!state) {
      return;
    }
    const area = root.querySelector("textarea");
    if (area && !typing.typed && area !== document.activeElement && area.value !== state.note) {
      area.value = state.note;
    }
    patch(root, noteField(screen), isOpen ? measureParts(screen) : null);
  });
  root.addEventListener("input", ({ target }) => typing.type(target.value));
  root.addEventListener("focusout", store);
  document.addEventListener("visibilitychange", () => document.hidden && typing.leave());
  window.addEventListener("pagehide", () => typing.leave());
  typing.takeUp();
  on(root, "click", "data-measure", ({ dataset }) => askMeasure(screen, dataset.measure));
  on(root, "click", "data-measure-clear", ({ dataset }) => screen.act("edit", { [dataset.measureClear]: null }));
  on(root, "click", "data-jaw", ({ dataset }) => screen.act("edit", { jaw: dataset.jaw }));
}

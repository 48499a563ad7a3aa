// What the charting screen is about just now: which session, which point is chosen, how the next one is given. Everything
// that draws listens to "change" and reads `state`; everything that is pressed calls a method here. Nothing in here
// touches the page.
//
//   sessionKey, state   the session shown and its state (snapshot with this tablet's operations); null: the day's list
//   chosen              key of the chosen point, or null
//   settings            how the next point is given, or the chosen one was: {unit, amount, plane, ...}; null: not chosen;
//                       confirmed_odd: what was asked about the amount and confirmed
//   mode                "given": a touch logs a point; "planned": a touch puts a marking
//   view, picture       the drawing in sight; the photograph's key while view is "picture"
//   problem             a sentence that says why nothing was logged, and `missing`, the names of the settings it names
// Events: "change" {detail: {sessions}} after any of it, "say" {detail: text} for the live region.

import { formatAmount } from "./amounts.js";
import { newKey } from "./ids.js";
import { doubtOfUnit } from "./plausibility.js";
import { KEPT, NO_SETTINGS, TEXTS, mirrored, missingSettings, placeOf, settingsOf, wayFor } from "./ways.js";

export class Screen extends EventTarget {
  constructor(app) {
    super();
    Object.assign(this, { app, sessionKey: null, chosen: null, mode: "given", view: "front", picture: null });
    Object.assign(this, { next: { ...NO_SETTINGS }, problem: "", missing: [], unsaid: null });
    app.addEventListener("change", (event) => {
      if (!event.detail?.sessions || event.detail.sessions.has(this.sessionKey) || !this.sessionKey) {
        this.changed();
      }
    });
  }

  // Read once an event: the app works it out anew after each operation.
  get state() {
    return this.sessionKey ? this.app.session(this.sessionKey) : null;
  }

  // Every session this tablet knows, as it stands.
  get sessions() {
    return this.app.sessionKeys.map((key) => this.app.session(key)).filter(Boolean);
  }

  get points() {
    return (this.state?.points ?? []).filter(({ removed }) => !removed);
  }

  get point() {
    return this.points.find(({ key }) => key === this.chosen) ?? null;
  }

  get isOpen() {
    return Boolean(this.state?.is_open);
  }

  get settings() {
    return this.point ? settingsOf(this.point) : this.next;
  }

  // The units on the tray, each with what is known of its opening.
  get units() {
    return this.state?.tray ?? [];
  }

  // The one that is drawn from.
  get unit() {
    return this.units.find(({ pk }) => pk === this.settings.unit) ?? null;
  }

  get measure() {
    return this.unit?.measure ?? "volume";
  }

  changed() {
    if (this.chosen && !this.point) {
      this.chosen = null;
    }
    this.keepUnit();
    this.sayKept();
    this.dispatchEvent(new CustomEvent("change"));
  }

  // The only unit on the tray is drawn from without being asked; one that left it is not.
  keepUnit() {
    const { units } = this;
    if (!units.some(({ pk }) => pk === this.next.unit)) {
      this.next = { ...this.next, unit: units.length === 1 ? units[0].pk : null };
    }
  }

  say(text) {
    this.unsaid = null;
    this.dispatchEvent(new CustomEvent("say", { detail: text }));
  }

  // At once what was done, and with it where it is kept as soon as that is true: where(state) gives it.
  sayStored(text, where) {
    this.say(text);
    this.unsaid = { text, where };
    this.sayKept();
  }

  sayKept() {
    const { text, where } = this.unsaid ?? {};
    const kept = text && this.state && KEPT[where(this.state)];
    if (kept) {
      this.say(`${text} ${kept}`);
    }
  }

  refuse(text, missing = []) {
    Object.assign(this, { problem: text, missing });
    this.say(text);
    this.changed();
  }

  clear() {
    Object.assign(this, { problem: "", missing: [] });
  }

  // A session, or with null the day's list.
  show(key) {
    this.clear();
    Object.assign(this, { sessionKey: key, chosen: null, mode: "given", view: "front", picture: null });
    const last = this.points.at(-1);
    this.next = last ? settingsOf(last) : { ...NO_SETTINGS };
    this.changed();
  }

  look(view, picture = null) {
    Object.assign(this, { view, picture });
    this.changed();
  }

  setMode(mode) {
    this.clear();
    Object.assign(this, { mode, chosen: null });
    this.say(mode === "planned" ? "A touch now puts a marking." : "A touch now logs a point.");
    this.changed();
  }

  choose(key) {
    this.clear();
    this.chosen = key;
    const { point } = this;
    if (point) {
      Object.assign(this, { view: point.view, picture: point.picture ?? null });
      this.say(`Point ${point.number} chosen. Arrow keys move it by half a millimetre.`);
    }
    this.changed();
  }

  // Change how the next point is given; while a point is chosen, how that one was.
  set(given) {
    this.clear();
    // What was confirmed was confirmed of that amount alone.
    const values = "amount" in given ? { confirmed_odd: "", ...given } : given;
    if (this.point) {
      this.change(this.point, values);
      return;
    }
    this.next = { ...this.next, ...values };
    this.changed();
  }

  chooseUnit(pk) {
    const unit = this.units.find((each) => each.pk === pk);
    if (this.point) {
      this.set({ unit: pk });
      return;
    }
    const way = wayFor(unit, this.next, this.unit, this.points);
    // Typed before anybody knew the unit it is drawn from: then it is asked for anew.
    const isOdd = way.amount && !way.confirmed_odd && doubtOfUnit(way.amount, unit, this.app.day);
    this.set(isOdd ? { ...way, amount: null } : way);
  }

  change(point, values) {
    const settings = { ...settingsOf(point), ...values };
    this.act("change", { key: point.key, ...placeOf(point), ...settings, deviation: point.deviation ?? "" });
    this.say(`${this.described(point.key)} Changed.`);
  }

  act(kind, data) {
    return this.app.act(kind, this.sessionKey, data);
  }

  // place: {view, x_dmm, y_dmm, region, side, reach_x_dmm?, reach_y_dmm?, picture?, marking?}. Gives the new key or null.
  logAt(place) {
    if (!this.isOpen) {
      return null;
    }
    this.chosen = null;
    const isOnPicture = place.view === "picture";
    if (this.mode === "planned") {
      return isOnPicture ? this.refuse(TEXTS.noPlanHere) : this.planAt(place);
    }
    const { names, missing } = missingSettings(this.settings, this.unit);
    if (missing.length) {
      this.refuse(missing[0] === "unit" ? TEXTS.noUnit : `Not logged: choose ${names} first, then touch the place again.`, missing);
      return null;
    }
    if (isOnPicture && !(place.region && place.side)) {
      // A photograph knows no regions: who hears this comes back with both.
      this.dispatchEvent(new CustomEvent("place", { detail: place }));
      return null;
    }
    return this.log(this.settings, place);
  }

  log(settings, place) {
    const key = newKey();
    this.clear();
    this.act("log", { key, ...settings, ...placeOf(place), deviation: "", marking: place.marking ?? null });
    this.sayStored(this.described(key), ({ points }) => points.find((point) => point.key === key)?.where);
    return key;
  }

  planAt({ view, x_dmm, y_dmm, region, side }) {
    const key = newKey();
    this.clear();
    this.act("plan", { key, view, x_dmm, y_dmm, region: region ?? "", side: side ?? "" });
    this.say(`Marking put: ${this.placeName(region, side)}.`);
    return key;
  }

  unplan(key) {
    this.act("unplan", { key });
    this.say("Marking taken away.");
  }

  moveTo(key, { x_dmm, y_dmm, reach_x_dmm, reach_y_dmm }) {
    const point = this.points.find((each) => each.key === key);
    if (!point || !this.isOpen) {
      return;
    }
    this.act("move", { key, x_dmm, y_dmm, reach_x_dmm, reach_y_dmm });
    this.say(`${this.described(key)} Moved.`);
  }

  // By tenths of a millimetre; what the point reaches to goes with it.
  nudge(dx, dy) {
    const { point } = this;
    if (point) {
      const by = (value, step) => (value === null || value === undefined ? null : value + step);
      this.moveTo(point.key, {
        x_dmm: point.x_dmm + dx, y_dmm: point.y_dmm + dy,
        reach_x_dmm: by(point.reach_x_dmm, dx), reach_y_dmm: by(point.reach_y_dmm, dy),
      });
    }
  }

  remove(key = this.chosen) {
    const point = this.points.find((each) => each.key === key);
    if (point && this.isOpen) {
      this.chosen = null;
      this.act("remove", { key });
      this.say(`Point ${point.number} removed. Undo brings it back.`);
    }
  }

  // The point that Mirror and Repeat are about: the chosen one, else the last one.
  get source() {
    return this.point ?? this.points.at(-1) ?? null;
  }

  mirror() {
    const point = this.source;
    if (!point || point.side === "midline" || point.view === "picture" || !this.isOpen) {
      return null;
    }
    const place = mirrored(point);
    this.chosen = null;
    Object.assign(this, { next: settingsOf(point), view: place.view });
    return this.log(this.next, place);
  }

  // The next touch is given as this point was.
  repeat() {
    const point = this.source;
    if (point) {
      Object.assign(this, { chosen: null, next: settingsOf(point) });
      this.say(`The next point is given as point ${point.number}.`);
      this.changed();
    }
  }

  // How the next point is given, in sight of where it goes.
  prepare(values, view) {
    this.clear();
    Object.assign(this, { chosen: null, mode: "given", view, picture: null, next: { ...this.next, ...values } });
  }

  undo() {
    if (this.isOpen && this.app.undo(this.sessionKey)) {
      this.say("Undone.");
    }
  }

  redo() {
    if (this.isOpen && this.app.redo(this.sessionKey)) {
      this.say("Done again.");
    }
  }

  placeName(region, side) {
    const found = this.app.reference.regions.find(({ key }) => key === region);
    return found ? `${found.label}, ${this.word("side", side).toLowerCase()}` : "place not known yet";
  }

  word(kind, key) {
    return (this.app.reference.words[kind] ?? []).find(([each]) => each === key)?.[1] ?? "";
  }

  // "Point 3: Temporal region, right, 0.2 mL."
  described(key) {
    const point = this.points.find((each) => each.key === key);
    if (!point) {
      return "";
    }
    const amount = formatAmount(point.amount, point.measure);
    const held = this.units.find(({ pk }) => pk === point.unit)?.held ? " From a unit in quarantine." : "";
    return `Point ${point.number}: ${this.placeName(point.region, point.side)}, ${amount}.${held}`;
  }
}

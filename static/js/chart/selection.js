// The chosen point: its settings in the panel, its mark ringed, moved by drag or by half millimetres, removed.

import { announce, problem, toast } from "./say.js";
import { inOrder, post } from "./server.js";
import { ring } from "./place.js";

const SETTLE_MS = 350;
const KEYS = { ArrowLeft: [-5, 0], ArrowRight: [5, 0], ArrowUp: [0, -5], ArrowDown: [0, 5] };

export class Selection {
  constructor({ url, settings, views, apply, log, outbox }) {
    Object.assign(this, { url, settings, views, apply, log, outbox, key: null, at: null, timer: null });
    document.addEventListener("chart:parts", () => this.refresh());
  }

  get row() {
    return this.key && document.querySelector(`[data-row="${this.key}"]`);
  }

  choose(key) {
    this.settings.finishTyping();
    this.settleNow();
    this.key = key;
    const row = this.row;
    if (!row) {
      this.leave();
      return;
    }
    if (this.views.shown !== row.dataset.view) {
      this.views.show(row.dataset.view);
    }
    problem(this.settings.form, "");
    this.settings.enter(row.dataset, row.dataset.number);
    this.settings.form.querySelector("[data-region]").value = row.dataset.region;
    this.settings.form.querySelector("[data-side]").value = row.dataset.side;
    this.at = { x: Number(row.dataset.x), y: Number(row.dataset.y) };
    this.refresh();
    announce(`Point ${row.dataset.number} chosen. Arrow keys move it by half a millimetre.`);
  }

  leave() {
    this.settings.finishTyping();
    this.settleNow();
    this.key = null;
    this.settings.leave();
    problem(this.settings.form, "");
    this.refresh();
  }

  refresh() {
    this.mark();
    document.dispatchEvent(new CustomEvent("chart:chosen"));
  }

  mark() {
    for (const old of document.querySelectorAll("g.chosen")) {
      old.remove();
    }
    for (const row of document.querySelectorAll("[data-row]")) {
      row.classList.toggle("is-chosen", row.dataset.row === this.key);
    }
    if (!this.key) {
      return;
    }
    const row = this.row;
    if (!row) {
      this.leave();
      return;
    }
    if (!this.timer) {
      this.at = { x: Number(row.dataset.x), y: Number(row.dataset.y) };
    }
    this.settings.form.querySelector("[data-region]").value = row.dataset.region;
    this.settings.form.querySelector("[data-side]").value = row.dataset.side;
    ring(row.dataset.view, "chosen", this.at.x, this.at.y, 4);
    row.scrollIntoView({ block: "nearest" });
  }

  fields() {
    const { view, deviation } = this.row.dataset;
    const region = this.settings.form.querySelector("[data-region]").value;
    const side = this.settings.form.querySelector("[data-side]").value;
    return { ...this.settings.read(), view, x_dmm: this.at.x, y_dmm: this.at.y, region, side, deviation };
  }

  change() {
    return this.send("change", this.fields());
  }

  // An act that had no answer goes into the outbox; a newer one of its kind takes its place.
  send(act, fields) {
    const { key } = this;
    const { number, view } = this.row?.dataset ?? {};
    const entry = { id: `${key}:${act}`, kind: act, url: `${this.url}${key}/${act}/`, about: { number, view }, fields };
    for (const kind of act === "remove" ? ["change", "move", "remove"] : [act]) {
      this.outbox.discard(`${key}:${kind}`);
    }
    return inOrder(async () => {
      const answer = await post(entry.url, fields);
      if (answer.outcome === "stored") {
        problem(this.settings.form, "");
        announce(this.apply(answer.html));
      } else if (answer.outcome === "refused") {
        problem(this.settings.form, `${answer.message} Point ${number} is unchanged.`);
        this.refresh();
      } else {
        this.outbox.add(entry, answer.message);
        announce(`Not stored yet. ${answer.message}`);
      }
      return answer;
    });
  }

  // Show the mark elsewhere at once; the server hears where it came to rest.
  moveTo(x, y) {
    const row = this.row;
    this.at = { x, y };
    const mark = document.querySelector(`[data-figure="${row.dataset.view}"] [data-point="${this.key}"]`);
    const [byX, byY] = [(x - Number(row.dataset.x)) / 10, (y - Number(row.dataset.y)) / 10];
    mark?.setAttribute("transform", `translate(${byX} ${byY})`);
    document.querySelector("g.chosen")?.setAttribute("transform", `translate(${x / 10} ${y / 10})`);
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.settleNow(), SETTLE_MS);
  }

  async settleNow() {
    if (!this.timer) {
      return;
    }
    clearTimeout(this.timer);
    this.timer = null;
    const { key, at } = this;
    const answer = await this.send("move", { x_dmm: at.x, y_dmm: at.y });
    if (answer.outcome !== "stored") {
      document.querySelector(`[data-point="${key}"]`)?.removeAttribute("transform");
    }
  }

  nudge(x, y) {
    if (this.row) {
      this.moveTo(this.at.x + x, this.at.y + y);
    }
  }

  // Whether the key was one for the chosen point.
  heard(event) {
    if (!this.key || event.target.closest("input, select, textarea, dialog[open]")) {
      return false;
    }
    if (event.key in KEYS) {
      this.nudge(...KEYS[event.key]);
    } else if (event.key === "Escape") {
      this.leave();
    } else if (event.key === "Delete") {
      this.remove();
    } else {
      return false;
    }
    return true;
  }

  // A removed point never comes back; "Undo" logs its twin under an id of its own.
  async remove() {
    const { number } = this.row.dataset;
    const twin = this.fields();
    const answer = await this.send("remove", {});
    if (answer.outcome === "stored") {
      this.leave();
      toast(`Point ${number} removed.`, { label: "Undo", act: () => this.log(twin) });
    }
  }
}

// The face alone, with the real screen and model and no server: what is done on it is kept in `app.records`.

import { attachFace } from "/static/js/charting/face.js";
import { shown } from "/static/js/charting/model.js";
import { Screen } from "/static/js/charting/screen.js";

class App extends EventTarget {
  constructor(reference, snapshot) {
    super();
    Object.assign(this, { reference, snapshot, records: [], waiting: [], undone: 0 });
  }

  session() {
    this.known ??= shown(this.snapshot, this.records, { patients: [], stock: { products: [], opened: [] } }, this.reference);
    return this.known;
  }

  act(kind, session, data) {
    const id = `00000000-0000-4000-9000-${String(this.records.length).padStart(12, "0")}`;
    this.records.push({ id, written: true, op: { id, session, kind, data, made_at: "2026-11-25T10:00:00.000Z" } });
    this.changed();
    return { id };
  }

  // As after an answer of the server.
  show(snapshot) {
    Object.assign(this.snapshot, snapshot);
    this.records = [];
    this.changed();
  }

  changed() {
    this.known = null;
    this.dispatchEvent(new CustomEvent("change", { detail: { sessions: new Set([this.snapshot.key]) } }));
  }

  canUndo() {
    return true;
  }

  canRedo() {
    return false;
  }

  undo() {
    this.undone += 1;
    return { kind: "remove" };
  }

  pictureUrl() {
    return "/static/img/mark.svg";
  }
}

const given = JSON.parse(document.getElementById("given").textContent);
const reference = await (await fetch(given.reference)).json();
const app = new App(reference, given.session);
const screen = new Screen(app);
const said = document.querySelector("[data-said]");
screen.addEventListener("say", ({ detail }) => {
  said.textContent = detail;
});
const face = attachFace(screen, document.querySelector("[data-face]"));
screen.show(given.session.key);
Object.assign(screen.next, given.settings);
Object.assign(window, { app, screen, face });
document.body.dataset.ready = "yes";

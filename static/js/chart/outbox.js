// Points that were tapped and are not known to be stored. No page in here.
//
// Each entry {key, fields, state, message} is kept in the browser's storage from the tap until the server says that it
// is stored; a reload sends it again under the same key, and the server stores a key once. state: "waiting" (not sent
// or no answer yet), "refused" (the server said why; somebody must decide) or "stored". A stored one is remembered for
// a minute: a page that was being built while it was stored does not show it, and has to ask again.

const RETRY_MS = 5000;
const REMEMBER_MS = 60000;

export class Outbox {
  // send(fields) gives {outcome, ...}; onStored(answer, entry); onChange() after every change of the entries.
  constructor({ name, send, onStored, onChange }) {
    Object.assign(this, { name, send, onStored, onChange, timer: null, flushing: false });
    this.entries = this.load();
  }

  load() {
    try {
      return JSON.parse(localStorage.getItem(this.name) ?? "[]");
    } catch {
      return []; // storage refused or spoilt: entries then live as long as the page
    }
  }

  // What is still to be settled.
  get open() {
    return this.entries.filter(({ state }) => state !== "stored");
  }

  // After a load: forget what the page shows, send what it does not show although it was stored just now.
  compare(isShown) {
    const now = Date.now();
    this.entries = this.entries.filter(
      ({ key, state, storedAt }) => !isShown(key) && (state !== "stored" || now - storedAt < REMEMBER_MS),
    );
    for (const entry of this.entries) {
      if (entry.state === "stored") {
        entry.state = "waiting";
      }
    }
    this.save();
    this.flush();
  }

  save() {
    try {
      if (this.entries.length) {
        localStorage.setItem(this.name, JSON.stringify(this.entries));
      } else {
        localStorage.removeItem(this.name);
      }
    } catch {
      // as above
    }
    this.onChange();
  }

  add(entry) {
    const now = Date.now();
    this.entries = this.entries.filter(({ state, storedAt }) => state !== "stored" || now - storedAt < REMEMBER_MS);
    this.entries.push({ ...entry, state: "waiting", message: "" });
    this.save();
    this.flush();
  }

  discard(key) {
    this.entries = this.entries.filter((entry) => entry.key !== key);
    this.save();
  }

  // Send a refused or waiting entry again, with `fields` over its own.
  retry(key, fields = {}) {
    for (const entry of this.entries) {
      if (entry.key === key) {
        Object.assign(entry, { state: "waiting", message: "", fields: { ...entry.fields, ...fields } });
      }
    }
    this.save();
    this.flush();
  }

  async flush() {
    if (this.flushing) {
      return;
    }
    this.flushing = true;
    clearTimeout(this.timer);
    let entry;
    while ((entry = this.entries.find(({ state }) => state === "waiting"))) {
      const answer = await this.send(entry.fields);
      if (answer.outcome === "stored") {
        Object.assign(entry, { state: "stored", message: "", storedAt: Date.now() });
        this.save();
        this.onStored(answer, entry);
      } else if (answer.outcome === "refused") {
        Object.assign(entry, { state: "refused", message: answer.message });
        this.save();
      } else {
        entry.message = answer.message;
        this.save();
        this.timer = setTimeout(() => this.flush(), RETRY_MS);
        break;
      }
    }
    this.flushing = false;
  }
}

// What was tapped, changed, moved or removed and is not known to be stored. No page in here.
//
// Each entry {id, kind, url, fields, about, at, state, message} is kept in the browser's storage, under a name of its
// own so that two tabs never overwrite each other's, until the server says that it is stored; a reload sends it again.
// The server stores a point's key once, and a change, move or removal twice is the same as once. state: "waiting" (not
// sent or no answer yet), "refused" (the server said why; somebody must decide) or "stored". A stored point is
// remembered for a minute: a page that was being built while it was stored does not show it, and has to ask again.

const RETRY_MS = 5000;
const REMEMBER_MS = 60000;

// The entries under a name, the oldest first; none where storage is refused.
export function storedEntries(name) {
  const entries = [];
  try {
    for (let index = 0; index < localStorage.length; index += 1) {
      const key = localStorage.key(index);
      if (key.startsWith(`${name}:`)) {
        entries.push(JSON.parse(localStorage.getItem(key)));
      }
    }
  } catch {
    // refused or spoilt: entries then live as long as the page
  }
  return entries.sort((one, other) => one.at - other.at);
}

export class Outbox {
  // send(entry, isWanted) gives {outcome, ...}; onStored(answer, entry); onChange() after every change of the entries.
  constructor({ name, send, onStored, onChange }) {
    Object.assign(this, { name, send, onStored, onChange, timer: null, flushing: false });
    this.entries = storedEntries(name);
    window.addEventListener("storage", (event) => this.heardOfOtherTab(event));
  }

  // What is still to be settled.
  get open() {
    return this.entries.filter(({ state }) => state !== "stored");
  }

  heardOfOtherTab({ key, newValue }) {
    if (!key?.startsWith(`${this.name}:`)) {
      return;
    }
    const id = key.slice(this.name.length + 1);
    this.entries = this.entries.filter((entry) => entry.id !== id);
    if (newValue) {
      this.entries = [...this.entries, JSON.parse(newValue)].sort((one, other) => one.at - other.at);
      this.later();
    }
    this.onChange();
  }

  // After a load: forget what the page shows, send what it does not show although it was stored just now.
  compare(isShown) {
    const now = Date.now();
    for (const entry of [...this.entries]) {
      const isPoint = entry.kind === "log";
      if ((isPoint && isShown(entry.id)) || (entry.state === "stored" && now - entry.storedAt >= REMEMBER_MS)) {
        this.discard(entry.id);
      } else if (entry.state === "stored") {
        this.save(entry, { state: "waiting" });
      }
    }
    this.onChange();
    this.flush();
  }

  save(entry, changes) {
    Object.assign(entry, changes);
    try {
      localStorage.setItem(`${this.name}:${entry.id}`, JSON.stringify(entry));
    } catch {
      // as above
    }
    this.onChange();
  }

  // A later entry of the same id takes the place of the earlier one.
  add(entry, message = "") {
    const now = Date.now();
    for (const { id, state, storedAt } of [...this.entries]) {
      if (id === entry.id || (state === "stored" && now - storedAt >= REMEMBER_MS)) {
        this.discard(id);
      }
    }
    this.entries.push(entry);
    this.save(entry, { at: now, state: "waiting", message });
    if (message) {
      this.later();
    } else {
      this.flush();
    }
  }

  discard(id) {
    this.entries = this.entries.filter((entry) => entry.id !== id);
    try {
      localStorage.removeItem(`${this.name}:${id}`);
    } catch {
      // as above
    }
    this.onChange();
  }

  // Send a refused or waiting entry again, with `fields` over its own.
  retry(id, fields = {}) {
    const entry = this.entries.find((each) => each.id === id);
    if (entry) {
      this.save(entry, { state: "waiting", message: "", fields: { ...entry.fields, ...fields } });
      this.flush();
    }
  }

  later() {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.flush(), RETRY_MS);
  }

  async flush() {
    if (this.flushing) {
      return;
    }
    this.flushing = true;
    clearTimeout(this.timer);
    let entry;
    while ((entry = this.entries.find(({ state }) => state === "waiting"))) {
      const answer = await this.send(entry, () => this.entries.includes(entry));
      if (!this.settle(entry, answer)) {
        this.later();
        break;
      }
    }
    this.flushing = false;
  }

  // Whether to go on with the next one.
  settle(entry, answer) {
    if (!this.entries.includes(entry)) {
      // Taken back, or settled by another tab, while it was on its way.
      if (answer.outcome === "stored") {
        this.onStored(answer, entry);
      }
      return true;
    }
    if (answer.outcome === "stored") {
      if (entry.kind === "log") {
        this.save(entry, { state: "stored", message: "", storedAt: Date.now() });
      } else {
        this.discard(entry.id);
      }
      this.onStored(answer, entry);
      return true;
    }
    if (answer.outcome === "refused") {
      this.save(entry, { state: "refused", message: answer.message, signedOut: false });
      return true;
    }
    // Those behind it wait for the same reason.
    for (const waiting of this.entries.filter(({ state }) => state === "waiting")) {
      this.save(waiting, { message: answer.message, signedOut: answer.outcome === "signed-out" });
    }
    return false;
  }
}

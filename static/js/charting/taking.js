// What comes to the tablet from outside: the server's answers, the day, other tabs. The lower half of app.js.

import { giveBack } from "./departure.js";
import { newHolds } from "./holds.js";
import { needsPerson } from "./operations.js";
import { Away, SignedOut } from "./sync.js";

const OTHER_PERSON = "Somebody else is signed in on this tablet. What waits here goes when its author signs in again.";
const STATES = { hold: "hold", refused: "refused", conflict: "conflict" };

// A point's operation leaves its session's head alone, so the whole of what was told is compared.
const asTold = (snapshot) => JSON.stringify(Object.entries({ ...snapshot, checked_at: null }).sort());

export class Taking extends EventTarget {
  say(name, detail) {
    this.dispatchEvent(new CustomEvent(name, { detail }));
  }

  changed(keys) {
    keys.forEach((key) => this.states.delete(key));
    this.say("change", { sessions: new Set(keys) });
    this.waitingChanged();
  }

  waitingChanged() {
    this.say("waiting", {});
  }

  contactIs(state, message) {
    if (state !== this.contact.state || message !== this.contact.message) {
      const since = state === this.contact.state ? this.contact.since : new Date();
      this.contact = { state, since, message };
      this.say("contact", this.contact);
    }
  }

  lock() {
    this.locked = true;
    this.say("locked");
    this.tell({ type: "locked" });
  }

  unlock() {
    this.locked = false;
    this.say("unlocked");
    this.tell({ type: "unlocked" });
  }

  // Between the tabs of one person; without the channel a tab learns of another's acts when it is loaded.
  listen() {
    if (!window.BroadcastChannel) {
      return;
    }
    this.channel = new BroadcastChannel(`charting-${this.user.id}`);
    this.channel.onmessage = ({ data: { type } }) => {
      if (type === "read") {
        this.dirty = true;
        this.reread();
      } else if (type === "left") {
        this.forget();
      } else {
        this.locked = type === "locked";
        this.say(type);
      }
    };
  }

  tell(message) {
    this.channel?.postMessage(message);
  }

  // Once the disk took some operations, or refused them: the others hear of it, and they are sent.
  written(records) {
    this.changed([...new Set(records.map(({ op }) => op.session))]);
    this.tell({ type: "read" });
    this.sync.flush();
  }

  // Reads the disk again where another tab wrote on it.
  async reread() {
    if (this.dirty && this.store) {
      this.dirty = false;
      await this.reload();
    }
  }

  // Whether the disk could be read; if not, it is tried again with the next sending.
  async reload() {
    const { store } = this;
    const histories = new Map(this.histories);
    const kept = await store.load().catch(() => null);
    if (!kept || store !== this.store) {
      this.dirty ||= !kept;
      return false;
    }
    this.queue.take(kept.operations);
    const sessions = kept.sessions.filter(({ key }) => !this.unkept.has(key));
    sessions.forEach((snapshot) => this.snapshots.set(snapshot.key, snapshot));
    // Not where something was done while the disk was read: its writing comes after the reading.
    const unchanged = kept.history.filter(({ session }) => this.histories.get(session) === histories.get(session));
    unchanged.forEach((history) => this.histories.set(history.session, history));
    this.kept.take(kept.pictures);
    this.day = kept.day ?? this.day;
    this.changed([...new Set([...this.states.keys(), ...this.sessionKeys])]);
    return true;
  }

  // The sessions whose snapshots are asked for with every sending: the one in sight, and those known to be older.
  inSight() {
    const key = location.hash.slice(1);
    const inSight = this.snapshots.has(key) || this.session(key) ? [key] : [];
    return [...new Set([...inSight, ...this.kept.open.map(({ session }) => session), ...this.stale])];
  }

  // The answer to a sending, after the server committed it. `sent`: the records as they were then.
  async received(answer, sent) {
    if (answer.user && answer.user.id !== this.user.id) {
      this.sync.dayAt = 0;
      throw new SignedOut(OTHER_PERSON);
    }
    if (!Array.isArray(answer.results) || typeof answer.sessions !== "object") {
      throw new Away("The clinic's server gave an answer that cannot be read.");
    }
    const acknowledged = [];
    const changed = [];
    const bases = new Map(sent.map(({ id, op }) => [id, op.base]));
    for (const { id, outcome, message, conflict } of answer.results) {
      const record = this.queue.records.get(id);
      const base = bases.get(id);
      // What was stored before it could be withdrawn stands; there is nothing left to decide about the withdrawal.
      if (outcome === "applied" || outcome === "withdrawn" || (outcome === "refused" && record?.op.kind === "withdraw")) {
        acknowledged.push(id);
      } else if (record && record.op.base === base && STATES[outcome]) {
        // One that a person has put on top of something else meanwhile is sent anew: this answer is not about that.
        const told = { state: STATES[outcome], message: message ?? "", conflict: conflict ?? null };
        Object.assign(record, told);
        changed.push({ id, base, ...told });
      }
    }
    const { snapshots, forgotten } = this.sorted(answer.sessions);
    // If the disk refuses this, it keeps the operations: sent again after a reload, they are answered as before.
    const isKept = await this.store?.settle({ acknowledged, changed, snapshots, forgotten }).then(() => true, () => false);
    snapshots.forEach(({ key }) => this.unkept[isKept ? "delete" : "add"](key));
    this.settle(acknowledged, snapshots, forgotten, sent);
    if (acknowledged.length || changed.some(needsPerson)) {
      this.tell({ type: "read" });
    }
    // A disk that refuses leaves it with whoever sent it.
    await giveBack(this).catch(() => null);
    if (answer.alerts?.length) {
      this.say("alerts", answer.alerts);
    }
    return acknowledged.length;
  }

  sorted(sessions) {
    const waiting = new Set(this.queue.ordered.map(({ op }) => op.session));
    const snapshots = Object.values(sessions).filter(Boolean);
    const unknown = Object.keys(sessions).filter((key) => !sessions[key]);
    return { snapshots, forgotten: unknown.filter((key) => !waiting.has(key)) };
  }

  settle(acknowledged, snapshots, forgotten, sent) {
    if (!this.queue) {
      return;
    }
    this.queue.acknowledge(acknowledged);
    for (const snapshot of snapshots) {
      this.snapshots.set(snapshot.key, snapshot);
      this.stale.delete(snapshot.key);
      this.kept.seen(snapshot);
      if (snapshot.signed && this.histories.has(snapshot.key)) {
        this.keepHistory({ session: snapshot.key, undo: [], redo: [] });
      }
    }
    for (const key of forgotten) {
      this.snapshots.delete(key);
      this.stale.delete(key);
    }
    const keys = [...sent.map(({ op }) => op.session), ...snapshots.map(({ key }) => key), ...forgotten];
    this.changed([...new Set(keys)]);
  }

  // A quarantine that was news stays on the tablet, over reloads and newer lists, until somebody has read it.
  async newsRead(key) {
    this.day = { ...this.day, news: this.day.news.filter((each) => each.key !== key) };
    this.changed([...this.states.keys()]);
    await this.store.putDay(this.day, [], []).catch(() => null);
    this.tell({ type: "read" });
  }

  // The day's list and stock. A session's state comes from the answers to sendings only, so that an older list never
  // undoes a newer answer; the list brings sessions this tablet does not know yet, and tells which ones to ask for.
  async receivedDay(day) {
    if (this.user?.id !== day.user.id) {
      await this.become(day.user);
    }
    const unknown = day.sessions.filter(({ key }) => !this.snapshots.has(key));
    const older = day.sessions.filter((told) => {
      const known = this.snapshots.get(told.key);
      return known && asTold(known) !== asTold(told);
    });
    older.forEach(({ key }) => this.stale.add(key));
    unknown.forEach((snapshot) => this.snapshots.set(snapshot.key, snapshot));
    const listed = new Set([location.hash.slice(1), ...day.sessions.map(({ key }) => key)]);
    this.queue.ordered.forEach(({ op }) => listed.add(op.session));
    const forgotten = [...this.snapshots.keys()].filter((key) => !listed.has(key));
    for (const key of forgotten) {
      this.snapshots.delete(key);
      this.histories.delete(key);
    }
    const trays = this.sessionKeys.flatMap((key) => this.session(key)?.tray ?? []);
    const news = [...(this.day?.news ?? []), ...newHolds(this.day?.stock, day.stock, trays)];
    this.day = { ...day, news };
    await this.store.putDay(this.day, unknown, forgotten).catch(() => null);
    this.changed([...new Set([...this.states.keys(), ...this.sessionKeys])]);
  }

  // Whether any came to the clinic: what waited for it can go now, and the answer to that shows it.
  async sendPictures() {
    const isAny = await this.kept.send((task) => this.sync.withToken(task), this.sync.leaving.signal);
    if (isAny) {
      this.sync.held.clear();
    }
    return isAny;
  }

  sessionPicture(key) {
    for (const session of this.sessionKeys) {
      const picture = this.session(session)?.pictures.find((each) => each.key === key);
      if (picture) {
        return picture;
      }
    }
    return null;
  }

  movedTo(from, to) {
    const history = this.histories.get(from);
    if (history) {
      this.keepHistory({ ...history, session: to });
    }
    this.kept.moved(from, to);
    this.stale.add(to);
    this.say("moved", { from, to });
  }

  // Out of this tab's memory: the person left.
  forget() {
    this.channel?.close();
    this.store?.close();
    this.sync.stop();
    this.kept?.forget();
    const keys = this.sessionKeys;
    this.clear();
    this.say("change", { sessions: new Set(keys) });
    this.say("left", {});
  }
}

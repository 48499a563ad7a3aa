// What the charting screen works with: the person, the day, the sessions as they stand with this tablet's own acts, and
// the way of those acts to the clinic. Nothing of the page in here; it draws itself from the events.
//
//   "change"   {sessions: Set of keys}   shown states differ (also after undo, an answer, another tab's act)
//   "contact"  {state, since, message}   "ok", "away" or "signed-out"
//   "waiting"  {}                        what waits, or its state, differs
//   "alerts"   [sentence...]             what the server wants said
//   "moved"    {from, to}                a session went on under another key
//   "locked", "unlocked", "left"         the screen's lock; the person left this tablet

import { Deciding } from "./deciding.js";
import { depart, takeParcels } from "./departure.js";
import { canStep, completed, newHistory, remembered, step } from "./history.js";
import { newKey } from "./ids.js";
import { Kept, unsent } from "./kept.js";
import { shown } from "./model.js";
import { AFTER_SIGNING, baseOf, newOperation, newRecord, withoutReach } from "./operations.js";
import { Queue } from "./queue.js";
import { keptReference } from "./reference.js";
import { TabletStore, UserStore } from "./store.js";
import { Sync } from "./sync.js";

const COMPLETED = {
  change: (data, state, reference) => withoutReach(completed(data, state), reference),
  log: (data, _state, reference) => withoutReach(data, reference),
  // What the signer had seen: the server compares it with what other tablets brought since.
  sign: (data, state) => ({ seen: state?.checked_at ?? "", ...data }),
};

export class Charting extends Deciding {
  constructor() {
    super();
    this.tablet = new TabletStore();
    this.secure = window.isSecureContext;
    this.reference = null;
    this.locked = false;
    this.handedOver = [];
    this.contact = { state: "ok", since: new Date(), message: "" };
    this.sync = new Sync(this);
    this.clear();
  }

  // `reference`: address of the words and drawings, which are everybody's.
  static async open({ reference = "" } = {}) {
    const app = new Charting();
    window.charting = app;
    // Asks the browser not to clear this origin when the disk is full; it may say no.
    navigator.storage?.persist?.().catch(() => false);
    app.device = await app.tablet.readOrMake("device", newKey).catch(newKey);
    const user = await app.tablet.read("user").catch(() => null);
    await Promise.all([user && app.become(user), app.readReference(reference), app.readParcels()]);
    app.sync.start();
    if (!app.user) {
      await app.sync.flush();
    }
    return app;
  }

  clear() {
    Object.assign(this, { user: null, day: null, store: null, queue: null, kept: null, channel: null, dirty: false });
    Object.assign(this, { snapshots: new Map(), histories: new Map(), states: new Map(), stale: new Set() });
    // Sessions of which the disk holds an older snapshot than the memory, because it refused the newer one.
    this.unkept = new Set();
  }

  async readReference(url) {
    this.referenceUrl = url;
    this.reference = await keptReference(this.tablet, url);
  }

  async readParcels() {
    this.handedOver = await this.tablet.handedOver().catch(() => []);
  }

  // The person whose work this is. Somebody else's stays on the tablet as long as it waits.
  async become(user) {
    const { store, channel } = this;
    channel?.close();
    if (store) {
      await ((await this.isEmpty()) ? store.delete() : store.close());
    }
    this.clear();
    this.store = new UserStore(user.id);
    this.queue = new Queue(this.tablet, this.store, (records) => this.written(records));
    this.kept = new Kept(this.store);
    this.user = user;
    this.listen();
    await this.reload();
    await this.tablet.write("user", user).catch(() => null);
  }

  // Whether nothing waits, on the disk either: another tab may have written what this one has not read.
  async isEmpty() {
    const disk = await this.store.load().catch(() => null);
    const isOnDisk = !disk || disk.operations.length || unsent(disk.pictures).length;
    return !isOnDisk && !this.queue.records.size && !this.kept.open.length;
  }

  get sessionKeys() {
    const started = this.queue?.ordered.filter(({ op }) => op.kind === "start").map(({ op }) => op.session) ?? [];
    return [...new Set([...this.snapshots.keys(), ...started])];
  }

  // The shown state of a session, or null. The same object until something of it changes.
  session(key) {
    if (!this.queue) {
      return null;
    }
    if (!this.states.has(key)) {
      const records = [...this.kept.records(key), ...this.queue.of(key)];
      this.states.set(key, shown(this.snapshots.get(key) ?? null, records, this.day, this.reference));
    }
    return this.states.get(key);
  }

  // One act: shown before this returns, on the disk right after, then sent. `id` where it had to be known before (a
  // signature's proof); `hint`: what the screen knows and the server will find out, such as the region after a move.
  act(kind, session, said, { id, hint = null } = {}) {
    const givenUp = kind === "remove" && this.giveUp(session, said.key);
    if (givenUp) {
      return givenUp;
    }
    const before = this.session(session);
    const data = COMPLETED[kind]?.(said, before, this.reference) ?? said;
    const known = hint ?? this.placed(kind, data, before);
    const op = this.correct(kind, session, data) ?? this.perform(kind, session, data, { id, hint: known });
    const history = this.histories.get(session) ?? newHistory(session);
    this.keepHistory(remembered(history, { kind, data }, before, known));
    this.changed([session]);
    return op;
  }

  perform(kind, session, data, { id, hint = null }) {
    const state = this.session(session);
    if (!this.user || (!state && kind !== "start")) {
      throw new Error("This tablet does not know that session.");
    }
    if (state?.signed && !AFTER_SIGNING.has(kind)) {
      throw new Error("This session is signed. Add an addendum instead.");
    }
    if (state?.set_aside_at) {
      throw new Error("This session was set aside as started by mistake. Start a new one.");
    }
    const base = baseOf(kind, data, state);
    const sequence = this.queue.nextSequence();
    const op = newOperation({ kind, session, data, base, author: this.user.id, sequence, id });
    this.queue.add([newRecord(op, hint)]);
    this.states.delete(session);
    return op;
  }

  // Region and side follow a moved point, unless the injector had overruled the chart at the old place. `locate(view, x,
  // y, jaw)` is set by the face; `otherwise` where it does not know yet.
  placed(kind, data, before, otherwise = null) {
    const point = kind === "move" && before?.points.find(({ key }) => key === data.key);
    if (!point || !this.locate) {
      return otherwise;
    }
    const was = this.locate(point.view, point.x_dmm, point.y_dmm, before.jaw);
    const now = this.locate(point.view, data.x_dmm, data.y_dmm, before.jaw);
    if (!was || !now) {
      return otherwise;
    }
    return was.region === point.region && was.side === point.side ? { region: now.region, side: now.side } : null;
  }

  keepHistory(history) {
    this.histories.set(history.session, history);
    this.store.putHistory(history).catch(() => null);
  }

  canUndo(session) {
    return canStep(this.histories.get(session), "undo", this.session(session));
  }

  canRedo(session) {
    return canStep(this.histories.get(session), "redo", this.session(session));
  }

  undo(session) {
    return this.go(session, "undo");
  }

  redo(session) {
    return this.go(session, "redo");
  }

  go(session, side) {
    const found = step(this.histories.get(session), side, this.session(session));
    if (!found) {
      return null;
    }
    const { kind, data, hint } = found.act;
    const givenUp = kind === "remove" && this.giveUp(session, data.key);
    const op = givenUp || (this.correct(kind, session, data)
      ?? this.perform(kind, session, data, { hint: this.placed(kind, data, this.session(session), hint) }));
    this.keepHistory(found.history);
    this.changed([session]);
    return op;
  }

  // A session for this patient: the one that is open already, or a new one.
  startSession(patient, appointment, jaw) {
    const open = this.sessionKeys.map((key) => this.session(key));
    const known = open.find((state) => state?.is_open && state.patient.pk === patient);
    if (known) {
      return known.key;
    }
    const key = newKey();
    this.act("start", key, { patient, appointment, jaw });
    return key;
  }

  keepPicture(session, blob, size) {
    const key = this.kept.add(session, blob, size, () => this.changed([session]));
    this.changed([session]);
    this.flush();
    return key;
  }

  pictureUrl(key) {
    return this.kept?.url(key) ?? this.sessionPicture(key)?.url ?? "";
  }

  flush() {
    return this.sync.flush();
  }

  // Signs the person off this tablet: {left: false, waiting} while something waits that is not handed over.
  leave({ handOver = false } = {}) {
    return depart(this, handOver);
  }

  // Another person's work, left for whoever comes next, goes out in its author's name.
  takeOver() {
    return takeParcels(this);
  }
}

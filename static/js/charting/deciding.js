// What waits, in words, and what a person decides about it. The middle part of app.js.

import { hanging, settled } from "./conflict.js";
import { newKey } from "./ids.js";
import { needsPerson, newOperation, sendable, threadOf } from "./operations.js";
import { Taking } from "./taking.js";
import { described } from "./words.js";

// Operations on a point without which the clinic has none that stands, and those that say everything about one.
const BRINGS = new Set(["log", "restore"]);
const SAYS_ALL = new Set(["log", "change"]);

export class Deciding extends Taking {
  get waiting() {
    if (!this.queue) {
      return [];
    }
    const records = [...this.kept.records(), ...this.queue.ordered];
    const free = new Set(sendable(this.queue.ordered));
    return records.map((record) => {
      const state = this.sync.stateOf(record);
      const words = described(record, this.session(record.op.session), this.reference);
      // `isFree`: nothing that waits here stands before it.
      return { op: record.op, state, message: record.message, conflict: record.conflict, words, isFree: free.has(record) };
    });
  }

  // What would go with an operation that is dropped, to be told before.
  hanging(id) {
    const record = this.queue.records.get(id);
    return record ? hanging(record, this.queue.ordered).map(({ op }) => op) : [];
  }

  // What a person decided about an operation: "again", "drop", "deviation" {reason}, "other_unit" {unit, diluent_ul,
  // no_diluent}, "addendum" {reason?, text?}, "edit" {data}, "correct" {data}, "existing" {session?}, "anew". Gives the operations made for it.
  resolve(id, choice, extra = {}) {
    const record = this.queue.records.get(id);
    if (!record) {
      if (choice === "anew") {
        this.pictureAnew(id);
      }
      return this.kept.resolve(id, choice, () => this.changed([...this.states.keys()]));
    }
    const { session } = record.op;
    const existing = extra.session ?? record.conflict?.existing;
    const to = choice === "anew" ? newKey() : existing && ["existing", "again"].includes(choice) ? existing : session;
    const { gone, order } = settled(record, choice === "again" && to !== session ? "existing" : choice, {
      ...extra, session: to, head: this.snapshots.get(to)?.head, start: choice === "anew" ? this.startLike(session) : null,
    }, {
      records: this.queue.ordered,
      snapshot: this.snapshots.get(session),
      state: this.session(session),
      reference: this.reference,
    });
    const withdrawals = gone.map((operation) => ({
      op: newOperation({ kind: "withdraw", session, data: { operation }, base: null, author: this.user.id }),
    }));
    const isUnsigned = record.op.kind !== "sign" && gone.some((each) => this.queue.records.get(each)?.op.kind === "sign");
    this.queue.replace([...withdrawals, ...order], gone);
    if (isUnsigned) {
      this.say("alerts", ["The signature that waited does not cover what was decided now. Sign again."]);
    }
    if (to !== session) {
      this.movedTo(session, to);
    }
    this.changed([session, to]);
    return order.filter((each) => !each.record).map(({ op }) => op);
  }

  // The first operation on a point that a person has to settle: what is done to the point after it waits behind it.
  unsettled(session, key) {
    return this.queue?.of(session).find((each) => threadOf(each.op) === `point:${key}` && needsPerson(each));
  }

  // What was not taken of a point is given up where the point is removed. Gives the operation that had logged it or
  // brought it back, for then the clinic has nothing to remove; else null.
  giveUp(session, key) {
    const record = this.unsettled(session, key);
    if (record) {
      this.resolve(record.id, "drop");
    }
    return record && BRINGS.has(record.op.kind) ? record.op : null;
  }

  // A change by hand of a point that was refused is the decision about it. Gives the operation sent in its place, or null
  // where there was nothing to decide. Two versions are not decided so: the other one may not have been looked at.
  correct(kind, session, data) {
    const record = kind === "change" ? this.unsettled(session, data.key) : null;
    const isDecided = record?.state === "refused" && SAYS_ALL.has(record.op.kind);
    return isDecided ? this.resolve(record.id, "correct", { data })[0] : null;
  }

  // What a new session of the same patient begins with.
  startLike(session) {
    const { patient, jaw } = this.session(session);
    const visit = this.day?.appointments.find((each) => each.patient === patient.pk);
    return { patient: patient.pk, appointment: visit?.pk ?? null, jaw };
  }

  pictureAnew(key) {
    const { session } = this.kept.pictures.get(key);
    const { patient, appointment, jaw } = this.startLike(session);
    this.movedTo(session, this.startSession(patient, appointment, jaw));
  }
}

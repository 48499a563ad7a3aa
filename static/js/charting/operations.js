// Operations: one for each act, with an id made at the touch. What they are about, what they build on, and which of
// those that wait may go now. No storage and no network in here.

import { newKey } from "./ids.js";

export const BATCH = 50;

const LISTS = {
  point: "points",
  marking: "markings",
  picture: "pictures",
  anaesthetic: "anaesthesia",
};
const ABOUT = {
  log: "point",
  change: "point",
  move: "point",
  remove: "point",
  restore: "point",
  plan: "marking",
  unplan: "marking",
  replan: "marking",
  numb: "anaesthetic",
  numb_off: "anaesthetic",
  numb_back: "anaesthetic",
  time_out: "time_out",
  decide: "decision",
  occlude: "occlusion",
  occlusion_note: "line",
  picture: "picture",
  calibrate: "picture",
  drop_picture: "picture",
};
const FIRST = new Set(["start", "log", "plan", "numb", "time_out", "decide", "occlude", "occlusion_note", "picture", "withdraw"]);
// A blocked vessel shows when it shows: what is written of it comes after the signature too, and waits for no decision.
export const AFTER_SIGNING = new Set(["addendum", "occlude", "occlusion_note"]);
const OF_OCCLUSION = new Set(["occlude", "occlusion_note"]);

// The thing an operation is about; operations of one thread build on each other.
export function threadOf({ id, kind, session, data }) {
  if (kind === "withdraw") {
    return `withdraw:${id}`;
  }
  const about = ABOUT[kind];
  return about ? `${about}:${data.key}` : `session:${session}`;
}

// The id of the last operation on the same thing, as the shown state knows it.
export function baseOf(kind, data, state) {
  if (FIRST.has(kind) || !state) {
    return null;
  }
  const list = LISTS[ABOUT[kind]];
  const thing = list ? (state[list] ?? []).find(({ key }) => key === data.key) : state;
  return thing?.head ?? null;
}

export function newOperation({ kind, session, data, base, author, sequence, id = newKey() }) {
  return {
    id,
    session,
    kind,
    base,
    made_at: new Date().toISOString(),
    sequence,
    author,
    handed_over: false,
    data,
  };
}

// A record is an operation with what is known about its way: state "tablet", "hold", "refused" or "conflict".
export function newRecord(op, hint = null) {
  return { id: op.id, op, hint, state: "tablet", message: "", conflict: null, numbered: false, written: false };
}

// What is given about one place has no direction and length: those of a technique that had them go.
export function withoutReach(data, reference) {
  const hasReach = !reference || !data.technique || reference.with_reach.includes(data.technique);
  return hasReach ? data : { ...data, reach_x_dmm: null, reach_y_dmm: null };
}

export function bySequence(one, other) {
  return one.op.sequence - other.op.sequence || (one.id < other.id ? -1 : 1);
}

export function needsPerson({ state }) {
  return state === "refused" || state === "conflict";
}

// Where a record is: "tablet" only when the disk's transaction is complete, "storing" until then, "memory" where the disk
// refused it.
export function keptWhere({ written, failed }) {
  return written ? "tablet" : failed ? "memory" : "storing";
}

function unitThread({ session, data }) {
  return `unit:${session}:${data.unit}`;
}

// The threads that an operation waits for.
function waitsFor(op) {
  if (OF_OCCLUSION.has(op.kind)) {
    return [threadOf(op), `occlusion:${op.data.occlusion}`];
  }
  return [threadOf(op), unitThread(op), `all:${op.session}`];
}

// The threads that wait because of this operation.
function blockedBy({ op }) {
  if (op.kind === "start") {
    return [`session:${op.session}`, `all:${op.session}`];
  }
  return op.kind === "open" ? [threadOf(op), unitThread(op)] : [threadOf(op)];
}

// Those that may be sent now, in order: not what a person has to settle first, nor what stands behind it. A signature
// goes alone, after everything before it in its session is settled: nothing may be left outside of what it covers.
export function sendable(records, isHeld = () => false, most = BATCH) {
  const blocked = new Set();
  const withdrawn = records.filter(({ op }) => op.kind === "withdraw");
  const unsettled = new Set(withdrawn.map(({ op }) => op.session));
  const batch = [];
  for (const record of records) {
    const { op } = record;
    const waits = waitsFor(op).some((thread) => blocked.has(thread)) && op.kind !== "withdraw";
    const mustWait = op.kind === "sign" && unsettled.has(op.session);
    if (needsPerson(record) || isHeld(record) || waits || mustWait) {
      blockedBy(record).forEach((thread) => blocked.add(thread));
    } else if (batch.length < most) {
      batch.push(record);
    }
    unsettled.add(op.session);
    if (op.kind === "sign") {
      blocked.add(`all:${op.session}`);
    }
  }
  return batch;
}

// What a person chose about an operation that was refused or met a conflict, as new operations.
//
// A decision never edits an operation: its id may have reached the server. New ones with ids of their own take its place
// and the old ones are withdrawn, so that one still on its way is answered "withdrawn" if it arrives after all.

import { newKey } from "./ids.js";
import { threadOf } from "./operations.js";
import { described } from "./words.js";

const POINT_CHANGES = new Set(["change", "move", "remove", "restore"]);
const SESSION_FIRST = new Set(["start"]);

// Those that make no sense without `record`: later acts on the same point, marking or picture; what came from a unit
// that was not used; everything of a session that did not start.
export function hanging(record, records) {
  const gone = new Set([record.id]);
  const threads = new Set();
  const { kind, session, data } = record.op;
  if (!threadOf(record.op).startsWith("session:")) {
    threads.add(threadOf(record.op));
  }
  for (const { id, op } of after(record, records)) {
    const isAll = SESSION_FIRST.has(kind) || (kind === "sign" && op.kind === "addendum");
    const isFromUnit = kind === "open" && "unit" in op.data && op.data.unit === data.unit && op.session === session;
    if (op.kind !== "withdraw" && (isAll || isFromUnit || threads.has(threadOf(op)))) {
      gone.add(id);
      if (!threadOf(op).startsWith("session:")) {
        threads.add(threadOf(op));
      }
    }
  }
  gone.delete(record.id);
  return records.filter(({ id }) => gone.has(id));
}

function after(record, records) {
  const own = records.filter(({ op }) => op.session === record.op.session);
  return own.slice(own.indexOf(record) + 1);
}

// {gone: [id...], made: [{op, hint}...]} for a choice; `made` has new ids, its sequences are still to be given.
export function settled(record, choice, extra, { records, snapshot, state, reference }) {
  const own = records.filter(({ op }) => op.session === record.op.session && op.kind !== "withdraw");
  const decide = CHOICES[choice];
  if (!decide) {
    throw new Error(`No such choice: ${choice}.`);
  }
  return rebuilt(own, decide(record, extra, { own, snapshot, state, reference }), record);
}

const CHOICES = {
  drop: (record, _extra, { own }) => ({ dropped: [record, ...hanging(record, own)] }),
  edit: (record, extra) => ({ changed: new Map([[record.id, { ...record.op.data, ...extra.data }]]) }),
  deviation: (record, extra) => ({ changed: new Map([[record.id, { ...record.op.data, deviation: extra.reason }]]) }),
  again,
  other_unit: otherUnit,
  addendum,
  existing: (record, extra) => ({
    dropped: [record],
    session: extra.session ?? record.conflict?.existing,
    bases: new Map([[record.id, extra.head ?? null]]),
  }),
};

// On top of what the server holds now.
function again(record, _extra, { snapshot }) {
  const { kind, data, session } = record.op;
  const point = POINT_CHANGES.has(kind) && snapshot?.points.find(({ key }) => key === data.key);
  if (!point) {
    return { changed: new Map([[record.id, data]]) };
  }
  if (point.removed && kind === "remove") {
    return { dropped: [record], bases: new Map([[record.id, point.head]]) };
  }
  if (!point.removed || kind === "restore") {
    return { changed: new Map([[record.id, data]]), bases: new Map([[record.op.base, point.head]]), only: record };
  }
  const back = { id: newKey(), kind: "restore", session, base: point.head, data: { key: data.key } };
  return { first: [back], changed: new Map([[record.id, data]]), bases: new Map([[record.op.base, back.id]]), only: record };
}

// This and all that waits from the same unit is said to have come from the other one.
function otherUnit(record, { unit, diluent_ul = null, no_diluent = false, deviation = "" }, { own, snapshot, state }) {
  const old = record.op.data.unit;
  const changed = new Map();
  for (const { id, op } of own) {
    if (op.data.unit === old) {
      changed.set(id, { ...op.data, unit, ...(op.kind === "open" && { diluent_ul, no_diluent, deviation }) });
    } else if (op.kind === "sign" && old in op.data.remainders) {
      const { [old]: choice, ...rest } = op.data.remainders;
      changed.set(id, { ...op.data, remainders: { ...rest, [unit]: choice } });
    }
  }
  if (record.op.kind === "open" || state?.tray.some(({ pk }) => pk === unit)) {
    return { changed };
  }
  const base = snapshot?.head ?? record.op.base;
  const data = { unit, diluent_ul, no_diluent, deviation };
  const open = { id: newKey(), kind: "open", session: record.op.session, base, data };
  // The session's own waiting acts go on behind it.
  return { first: [open], changed, bases: new Map([[base, open.id]]), thread: `session:${record.op.session}` };
}

// The session was signed meanwhile: what was done is added to it in words, with what was done to the same thing after it.
function addendum(record, extra, { own, snapshot, state, reference }) {
  const thread = threadOf(record.op);
  const dropped = [record, ...after(record, own).filter(({ op }) => threadOf(op) === thread)];
  const words = dropped.map((each) => described(each, state, reference)).join(" ");
  const key = snapshot?.points.find((point) => point.key === record.op.data.key)?.key ?? null;
  const data = {
    reason: extra.reason || "Recorded on a tablet and sent after the session was signed.",
    text: extra.text || words,
    key,
  };
  const made = { id: newKey(), kind: "addendum", session: record.op.session, base: snapshot?.head ?? null, data };
  return { dropped, last: [made] };
}

// Every waiting operation of the session in its order: dropped, made anew, or left. Whatever builds on an operation that
// goes is made anew on what that one built on, or on what took its place.
function rebuilt(own, { dropped = [], changed = new Map(), bases = new Map(), ...more }, record) {
  const replaced = new Map(bases);
  const drop = new Set(dropped.map(({ id }) => id));
  const gone = [];
  const made = (more.first ?? []).map((op) => fresh(op, record));
  for (const { id, op, hint } of own) {
    // An override of a base is for the one operation, or the one thread, it was made for.
    const isMeant = more.only ? op === more.only.op : !more.thread || threadOf(op) === more.thread;
    const isOverride = bases.has(op.base) && !isMeant;
    const base = replaced.has(op.base) && !isOverride ? replaced.get(op.base) : op.base;
    if (drop.has(id)) {
      if (!replaced.has(id)) {
        replaced.set(id, base);
      }
      gone.push(id);
    } else if (changed.has(id) || base !== op.base || more.session) {
      const copy = { ...op, id: newKey(), base, data: changed.get(id) ?? op.data, session: more.session ?? op.session };
      replaced.set(id, copy.id);
      gone.push(id);
      made.push({ op: copy, hint });
    }
  }
  made.push(...(more.last ?? []).map((op) => fresh(op, record)));
  return { gone, made };
}

// Made by the decision itself: by the person and in the name of the act it is about.
function fresh(op, { op: { author, handed_over } }) {
  return { op: { made_at: new Date().toISOString(), sequence: 0, author, handed_over, ...op }, hint: null };
}

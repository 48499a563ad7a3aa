// What a person chose about an operation that was refused or met a conflict, as new operations.
//
// A decision never edits what an operation says: its id may have reached the server. A new one with an id of its own takes
// its place and the old one is withdrawn, so that one still on its way is answered "withdrawn" if it arrives after all.

import { newKey } from "./ids.js";
import { threadOf } from "./operations.js";
import { described } from "./words.js";

// A point logged before the screen kept heads has none: a change of it builds on null and is no first act.
const FIRST_ACTS = new Set(["start", "log", "plan", "numb", "time_out", "decide", "occlude", "occlusion_note"]);
const POINT_CHANGES = new Set(["change", "move", "remove", "restore"]);
const SAID_WITH = new Set(["change", "move"]);
const SESSION_FIRST = new Set(["start"]);
// What was said of one session as it stood: with other content, or of another session, it has to be said anew.
const OF_THE_WHOLE = new Set(["sign", "set_aside"]);

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
    const isLine = kind === "occlude" && op.data.occlusion === data.key;
    const isFromUnit = kind === "open" && "unit" in op.data && op.data.unit === data.unit && op.session === session;
    if (op.kind !== "withdraw" && (isAll || isLine || isFromUnit || threads.has(threadOf(op)))) {
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

// {gone: [id...], order: [{op, hint, record}...]} for a choice. `gone` are given up; `order` is what then waits in this
// session, with the record of those that wait already. Their sequences are still to be given.
export function settled(record, choice, extra, { records, snapshot, state, reference }) {
  const own = records.filter(({ op }) => op.session === record.op.session && op.kind !== "withdraw");
  const isSignature = record.op.kind === "sign" && !["addendum", "anew"].includes(choice);
  const decide = isSignature ? CHOICES.drop : CHOICES[choice];
  if (!decide) {
    throw new Error(`No such choice: ${choice}.`);
  }
  return rebuilt(own, decide(record, extra, { own, snapshot, state, reference }));
}

const CHOICES = {
  drop: (record, _extra, { own }) => ({ dropped: [record, ...hanging(record, own)] }),
  edit: (record, extra) => ({ changed: new Map([[record.id, { ...record.op.data, ...named(extra.data, record) }]]) }),
  correct,
  deviation: (record, extra) => ({ changed: new Map([[record.id, { ...record.op.data, deviation: extra.reason }]]) }),
  again,
  other_unit: otherUnit,
  addendum,
  anew,
  // The session goes on under the key of the one the clinic has.
  existing: (record, { session, head = null }) => ({
    dropped: [record],
    session,
    bases: new Map([[record.id, head]]),
  }),
};

// Only what this kind of operation says: the screen offers all settings of a point.
function named(values = {}, { op }) {
  return Object.fromEntries(Object.entries(values).filter(([name]) => name in op.data));
}

// `data` is the point as it is shown and corrected: what was changed and moved since is said with it.
function correct(record, { data }, { own }) {
  const thread = threadOf(record.op);
  const dropped = after(record, own).filter(({ op }) => threadOf(op) === thread && SAID_WITH.has(op.kind));
  return { dropped, changed: new Map([[record.id, { ...record.op.data, ...named(data, record) }]]) };
}

// On top of what the clinic has now.
function again(record, _extra, { snapshot }) {
  const { kind, data, session } = record.op;
  const said = { ...data, ...record.conflict?.data };
  const thing = thingOf(record.op, snapshot);
  const changed = new Map([[record.id, said]]);
  if (!thing || FIRST_ACTS.has(kind)) {
    return { changed };
  }
  if (thing.removed && POINT_CHANGES.has(kind) && kind !== "restore") {
    if (kind === "remove") {
      return { dropped: [record], bases: new Map([[record.id, thing.head]]) };
    }
    const back = { id: newKey(), kind: "restore", session, base: thing.head, data: { key: data.key } };
    return { before: [record, back], changed, base: [record, back.id] };
  }
  return { changed, base: [record, thing.head] };
}

// This and all that waits from the same unit is said to have come from the other one.
function otherUnit(record, { unit, diluent_ul = null, no_diluent = false, deviation = "" }, { own, snapshot, state }) {
  const old = record.op.data.unit;
  const changed = new Map();
  const dropped = [];
  for (const each of own) {
    const { id, op } = each;
    if (op.data.unit === old) {
      changed.set(id, { ...op.data, unit, ...(op.kind === "open" && { diluent_ul, no_diluent, deviation }) });
    } else if (op.kind === "sign" && old in op.data.remainders) {
      dropped.push(each);
    }
  }
  if (record.op.kind === "open" || state?.tray.some(({ pk }) => pk === unit)) {
    return { changed, dropped };
  }
  const first = own.find(({ op }) => isOfSession(op));
  const base = first ? first.op.base : (snapshot?.head ?? null);
  const data = { unit, diluent_ul, no_diluent, deviation };
  const open = { id: newKey(), kind: "open", session: record.op.session, base, data };
  return { changed, dropped, before: [own[0], open], base: first && [first, open.id] };
}

// The session was signed meanwhile: what was done is added to it in words, with what was done to the same thing after it.
function addendum(record, extra, { own, snapshot, state, reference }) {
  const thread = threadOf(record.op);
  const isAlone = thread.startsWith("session:");
  const later = after(record, own).filter(({ op }) => !isAlone && threadOf(op) === thread);
  const dropped = [record, ...later];
  const data = {
    reason: extra.reason || "Recorded on a tablet and sent after the session was signed.",
    text: extra.text || dropped.map((each) => described(each, state, reference)).join(" "),
    point: snapshot?.points.find(({ key }) => key === record.op.data.key)?.key ?? null,
  };
  const base = snapshot?.head ?? null;
  return { dropped, last: { id: newKey(), kind: "addendum", session: record.op.session, base, data } };
}

// The session was set aside meanwhile: what waits of it goes on in a new one, begun when the first of it was done.
function anew(_record, { session, start }, { own }) {
  const first = own.find(({ op }) => isOfSession(op));
  const begun = { id: newKey(), kind: "start", session, base: null, made_at: own[0].op.made_at, data: start };
  return { session, before: [own[0], begun], base: first && [first, begun.id] };
}

const isOfSession = (op) => threadOf(op).startsWith("session:");

function thingOf(op, snapshot) {
  const [about] = threadOf(op).split(":");
  const list = { point: "points", marking: "markings", picture: "pictures", anaesthetic: "anaesthesia" }[about];
  return list ? snapshot?.[list]?.find(({ key }) => key === op.data.key) : snapshot;
}

// Every waiting operation of the session in its order: given up, made anew, or left. What builds on one that goes builds
// on what that one built on, or on what took its place; its id stays, for what an act builds on is not its content.
function rebuilt(own, { dropped = [], changed = new Map(), bases = new Map(), base: meant, before, last, session }) {
  const replaced = new Map(bases);
  const drop = new Set(dropped.map(({ id }) => id));
  const gone = [];
  const order = [];
  for (const record of own) {
    const { id, op, hint } = record;
    if (before?.[0] === record) {
      order.push(fresh(before[1], record));
    }
    const base = meant?.[0] === record ? meant[1] : replaced.has(op.base) ? replaced.get(op.base) : op.base;
    const isOther = changed.has(id) || session;
    if (drop.has(id) || (OF_THE_WHOLE.has(op.kind) && isOther)) {
      gone.push(id);
      replaced.set(id, replaced.has(id) ? replaced.get(id) : base);
    } else if (isOther) {
      const copy = { ...op, id: newKey(), instead_of: id, base, data: changed.get(id) ?? op.data, session: session ?? op.session };
      gone.push(id);
      replaced.set(id, copy.id);
      order.push({ op: copy, hint });
    } else {
      order.push({ op: { ...op, base }, hint, record });
    }
  }
  if (last) {
    order.push(fresh(last, own[0]));
  }
  return { gone, order };
}

// Made by the decision itself, in the name of the act it is about.
function fresh(op, { op: { author, handed_over } }) {
  return { op: { made_at: new Date().toISOString(), sequence: 0, author, handed_over, ...op }, hint: null };
}

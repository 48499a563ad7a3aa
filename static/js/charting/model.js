// What is shown: the last snapshot from the server with the operations applied that wait on this tablet.
//
// Pure and quick, because it runs between a touch and its mark. What the snapshot holds already is not applied twice.
// An operation that the server refused, or that a person has to decide about, is still shown, with where "attention".

import { APPLY } from "./applying.js";
import { keptWhere, needsPerson, threadOf } from "./operations.js";
import { progressOf } from "./planned.js";
import { stockOf } from "./stock.js";
import { totalsOf } from "./totals.js";

const RANK = { clinic: 0, tablet: 1, storing: 2, memory: 3, attention: 4 };

// `records` are this session's waiting operations in their order. Null for a session nobody knows.
export function shown(snapshot, records, day, reference) {
  const start = records.find(({ op }) => op.kind === "start");
  if (!snapshot && !start) {
    return null;
  }
  const draft = draftOf(snapshot ?? blank(start.op, day), stockOf(day), reference, day);
  for (const record of notIn(snapshot, records)) {
    APPLY[record.op.kind]?.(draft, record.op, record);
  }
  for (const record of records) {
    note(draft, record);
  }
  return finished(draft);
}

function blank({ id, session, made_at: madeAt, data }, day) {
  const patient = day?.patients.find(({ pk }) => pk === data.patient);
  return {
    key: session,
    pk: null,
    mine: true,
    head: id,
    url: "",
    started_at: madeAt,
    late_reason: "",
    jaw: data.jaw,
    measures: { pupil_dmm: null, face_height_dmm: null, face_width_dmm: null },
    fit: { x: 1000, y: 1000 },
    note: "",
    signed: null,
    set_aside_at: null,
    patient: patient ?? { pk: data.patient, name: "", birth_date: "", age: null, record_number: "", alerts: [], url: "" },
    points: [],
    tray: [],
    markings: [],
    pictures: [],
    anaesthesia: [],
    decisions: [],
    time_outs: [],
    occlusions: [],
    last: patient?.last ?? null,
    plan: patient?.plan ?? null,
    flags: [],
    review: "",
    checked_at: null,
  };
}

function linesOf({ occlusions = [] }) {
  return occlusions.flatMap(({ key: occlusion, entries }) => entries.map((line) => ({ ...line, occlusion })));
}

const byKey = (rows) => new Map(rows.map((row) => [row.key, { ...row, where: "clinic" }]));

function draftOf(snapshot, stock, reference, day) {
  return {
    state: { ...snapshot, where: "clinic", unsigned_because: null },
    points: byKey(snapshot.points),
    markings: byKey(snapshot.markings),
    pictures: byKey(snapshot.pictures),
    // A snapshot that the tablet kept before there was anaesthesia has none.
    anaesthesia: byKey(snapshot.anaesthesia ?? []),
    decisions: byKey(snapshot.decisions ?? []),
    time_outs: byKey(snapshot.time_outs ?? []),
    occlusions: byKey(snapshot.occlusions ?? []),
    lines: byKey(linesOf(snapshot)),
    tray: new Map(snapshot.tray.map(({ unit, ...row }) => [unit?.pk ?? row.pk, { ...unit, ...row, where: "clinic" }])),
    drawn: new Map(),
    lastNumber: Math.max(0, ...snapshot.points.map(({ number }) => number ?? 0)),
    stock,
    isStockNewer: Date.parse(day?.now) > Date.parse(snapshot.checked_at),
    reference,
    day,
  };
}

// Without those the snapshot holds: an operation that is the head of its thing, and those before it on the same thing.
function notIn(snapshot, records) {
  if (!snapshot) {
    return records.filter(({ op }) => op.kind !== "start");
  }
  const things = [snapshot, ...snapshot.points, ...snapshot.markings, ...snapshot.pictures, ...(snapshot.anaesthesia ?? [])];
  const heads = new Set(things.map(({ head }) => head));
  const held = new Set();
  return records
    .reduceRight((left, record) => {
      const thread = threadOf(record.op);
      if (heads.has(record.id)) {
        held.add(thread);
      }
      return held.has(thread) || record.op.kind === "start" ? left : [record, ...left];
    }, []);
}

const whereOf = (record) => (needsPerson(record) ? "attention" : keptWhere(record));

function note(draft, record) {
  const { op } = record;
  const thread = threadOf(op);
  const { points: point, markings: marking, pictures: picture, anaesthesia: anaesthetic } = draft;
  const { time_outs: time_out, decisions: decision, occlusions: occlusion, lines: line } = draft;
  const rows = { point, marking, picture, anaesthetic, time_out, decision, occlusion, line }[thread.split(":")[0]];
  const things = rows ? [rows.get(op.data.key)] : op.kind === "withdraw" ? [] : [draft.state, draft.tray.get(op.data.unit)];
  const where = whereOf(record);
  for (const thing of things) {
    if (thing && RANK[where] > RANK[thing.where ?? "clinic"]) {
      thing.where = where;
      thing.message = record.message;
    }
  }
}

// As content_of in records/sessions/queries/content.py: nothing was written that would be lost with the session. A removed
// point was logged, so it counts.
function isEmpty({ note }, { points, tray, markings, pictures, anaesthesia, time_outs, occlusions }) {
  const kept = [points, tray, time_outs, occlusions].some(({ length }) => length);
  return !(note || kept) && [...markings, ...pictures, ...anaesthesia].every(({ removed }) => removed);
}

// Each log with its lines in the order of their times.
function logsOf({ occlusions, lines }) {
  const all = [...lines.values()].sort((one, other) => Date.parse(one.at) - Date.parse(other.at));
  return [...occlusions.values()].map((log) => ({ ...log, entries: all.filter(({ occlusion }) => occlusion === log.key) }));
}

function finished(draft) {
  const { state, points, markings, pictures, anaesthesia, decisions, time_outs, tray, drawn, stock, isStockNewer, reference } = draft;
  const all = [...points.values()].sort((one, other) => one.number - other.number);
  for (const point of all) {
    const unit = tray.get(point.unit) ?? stock.get(point.unit);
    point.where ??= "clinic";
    point.measure = unit?.measure ?? point.measure ?? "volume";
    point.kind = unit?.kind ?? point.kind ?? "";
    point.product = unit?.product ?? point.product ?? null;
    point.product_name = unit?.product_name ?? point.product_name ?? "";
    point.unit_label = unit?.label ?? point.unit_label ?? "";
  }
  // A marking is ticked off by the first standing point that was put on it.
  markings.forEach((marking) => (marking.point = null));
  for (const { key, removed, marking } of all) {
    const ticked = removed ? null : markings.get(marking);
    if (ticked) {
      ticked.point ??= key;
    }
  }
  for (const [pk, row] of tray) {
    row.drawn += drawn.get(pk) ?? 0;
    const left = row.content - row.drawn - row.wasted;
    // Whichever was told last: the session, or the stock.
    const told = isStockNewer ? (stock.get(pk) ?? row) : row;
    Object.assign(row, { left: Math.max(0, left), over: Math.max(0, -left), against: told.against, held: told.held ?? null });
  }
  const things = {
    points: all, tray: [...tray.values()], markings: [...markings.values()], pictures: [...pictures.values()],
    anaesthesia: [...anaesthesia.values()], decisions: [...decisions.values()], time_outs: [...time_outs.values()],
    occlusions: logsOf(draft),
  };
  return {
    ...state,
    ...things,
    is_open: state.mine && !state.signed && !state.set_aside_at,
    is_empty: isEmpty(state, things),
    totals: totalsOf(all, reference),
    plan: state.plan ? { ...state.plan, ...progressOf(state.plan.lines, all.filter(({ removed }) => !removed)) } : null,
  };
}

// What is shown: the last snapshot from the server with the operations applied that wait on this tablet.
//
// Pure and quick, because it runs between a touch and its mark. What the snapshot holds already is not applied twice.
// An operation that the server refused, or that a person has to decide about, is still shown, with where "attention".

import { keptWhere, needsPerson, threadOf } from "./operations.js";
import { progressOf } from "./planned.js";
import { stockOf } from "./stock.js";
import { totalsOf } from "./totals.js";

const LOG_FIELDS = [
  "unit", "view", "x_dmm", "y_dmm", "reach_x_dmm", "reach_y_dmm", "picture", "region", "side", "plane", "technique",
  "instrument", "gauge", "length_mm", "aspiration", "amount", "deviation", "marking", "confirmed_odd",
];
const PLACE_FIELDS = ["x_dmm", "y_dmm", "reach_x_dmm", "reach_y_dmm"];
const MARKING_FIELDS = ["view", "x_dmm", "y_dmm", "region", "side"];
const ANAESTHETIC_FIELDS = ["method", "product", "lidocaine_ug_per_ml", "with_epinephrine", "volume_ul"];
const MEASURES = ["pupil_dmm", "face_height_dmm", "face_width_dmm"];
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
    last: patient?.last ?? null,
    plan: patient?.plan ?? null,
    flags: [],
    review: "",
    checked_at: null,
  };
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

function copy(target, source, names) {
  for (const name of names) {
    if (source[name] !== undefined) {
      target[name] = source[name];
    }
  }
}

// Taken off the units at the end: a unit may come to the tray after what was drawn from it.
function draw({ drawn }, unit, amount) {
  drawn.set(unit, (drawn.get(unit) ?? 0) + amount);
}

// A change of a point that stands: what it took before goes back first.
function withPoint(draft, { id, data }, change) {
  const point = draft.points.get(data.key);
  if (!point) {
    return;
  }
  if (!point.removed) {
    draw(draft, point.unit, -point.amount);
  }
  change(point);
  point.head = id;
  if (!point.removed) {
    draw(draft, point.unit, point.amount);
  }
}

function withThing(rows, { id, data }, changes) {
  const row = rows.get(data.key);
  if (row) {
    Object.assign(row, changes, { head: id });
  }
}

const APPLY = {
  log(draft, { id, made_at: madeAt, data }, { hint }) {
    if (draft.points.has(data.key)) {
      return;
    }
    draft.lastNumber += 1;
    const point = { key: data.key, number: draft.lastNumber, head: id, removed: false, tapped_at: madeAt, by: "" };
    copy(point, data, LOG_FIELDS);
    Object.assign(point, hint);
    draft.points.set(data.key, point);
    draw(draft, data.unit, data.amount);
  },
  change: (draft, op, { hint }) =>
    withPoint(draft, op, (point) => {
      copy(point, op.data, LOG_FIELDS);
      Object.assign(point, hint);
    }),
  move: (draft, op, { hint }) =>
    withPoint(draft, op, (point) => {
      copy(point, op.data, PLACE_FIELDS);
      Object.assign(point, hint);
    }),
  remove: (draft, op) => withPoint(draft, op, (point) => Object.assign(point, { removed: true })),
  restore: (draft, op) => withPoint(draft, op, (point) => Object.assign(point, { removed: false })),
  plan(draft, { id, data }) {
    if (!draft.markings.has(data.key)) {
      const marking = { key: data.key, head: id, removed: false, point: null };
      copy(marking, data, MARKING_FIELDS);
      draft.markings.set(data.key, marking);
    }
  },
  unplan: (draft, op) => withThing(draft.markings, op, { removed: true }),
  replan: (draft, op) => withThing(draft.markings, op, { removed: false }),
  numb(draft, { id, made_at: madeAt, data }) {
    if (!draft.anaesthesia.has(data.key)) {
      const given = { key: data.key, head: id, removed: false, given_at: madeAt };
      copy(given, data, ANAESTHETIC_FIELDS);
      draft.anaesthesia.set(data.key, given);
    }
  },
  numb_off: (draft, op) => withThing(draft.anaesthesia, op, { removed: true }),
  numb_back: (draft, op) => withThing(draft.anaesthesia, op, { removed: false }),
  picture(draft, { data }) {
    if (!draft.pictures.has(data.key)) {
      const unknown = { x1: null, y1: null, x2: null, y2: null, distance_dmm: null, url: "" };
      draft.pictures.set(data.key, { head: null, removed: false, ...unknown, ...data });
    }
  },
  calibrate(draft, op) {
    const { x1, y1, x2, y2, distance_dmm, on_pupils = false } = op.data;
    withThing(draft.pictures, op, { x1, y1, x2, y2, distance_dmm, on_pupils });
  },
  drop_picture: (draft, op) => withThing(draft.pictures, op, { removed: true }),
  edit({ state, reference }, { id, data }) {
    copy(state, data, ["jaw", "note"]);
    state.measures = { ...state.measures };
    copy(state.measures, data, MEASURES);
    state.fit = fitOf(state.measures, reference) ?? state.fit;
    state.head = id;
  },
  open(draft, { id, made_at: madeAt, data }, { hint }) {
    draft.state.head = id;
    if (draft.tray.has(data.unit)) {
      return;
    }
    const { opening, ...unit } = draft.stock.get(data.unit) ?? hint?.unit ?? unknownUnit(data.unit);
    draft.tray.set(data.unit, {
      ...unit,
      state: "opened",
      diluent: data.diluent ?? "",
      diluent_ul: data.diluent_ul,
      use_before: null,
      opened_at: madeAt,
      opened_by: draft.day?.user.name ?? "",
      shared: !unit.single_patient,
      mine_to_put_back: true,
      ...opening,
      deviation: data.deviation,
    });
  },
  put_back(draft, { id, data }) {
    draft.state.head = id;
    draft.tray.delete(data.unit);
  },
  waste(draft, { id, data }) {
    draft.state.head = id;
    const row = draft.tray.get(data.unit);
    if (row) {
      row.wasted += data.amount;
    }
  },
  set_aside({ state }, { id, made_at: madeAt }, record) {
    if (!needsPerson(record)) {
      Object.assign(state, { head: id, set_aside_at: madeAt });
    }
  },
  sign(draft, { id, made_at: at }, record) {
    if (needsPerson(record)) {
      draft.state.unsigned_because = record.message;
      return;
    }
    draft.state.head = id;
    draft.state.signed ??= { at, name: draft.day?.user.name ?? "", url: "" };
  },
};

function unknownUnit(pk) {
  return {
    pk, label: "", product: null, product_name: "", kind: "", measure: "volume", lot: "", expires_on: "", content: 0,
    drawn: 0, wasted: 0, against: [], held: null,
  };
}

// The drawing's scale for a patient's own measures, in thousandths of the average; null without their averages.
function fitOf(measures, reference) {
  const means = reference?.fit;
  if (!means) {
    return null;
  }
  const share = (own, mean) => (own && mean ? Math.round((own * 1000) / mean) : null);
  const width = share(measures.face_width_dmm, means.face_width_dmm) ?? share(measures.pupil_dmm, means.pupil_dmm);
  return { x: width ?? 1000, y: share(measures.face_height_dmm, means.face_height_dmm) ?? 1000 };
}

const whereOf = (record) => (needsPerson(record) ? "attention" : keptWhere(record));

function note(draft, record) {
  const { op } = record;
  const thread = threadOf(op);
  const { points: point, markings: marking, pictures: picture, anaesthesia: anaesthetic } = draft;
  const rows = { point, marking, picture, anaesthetic }[thread.split(":")[0]];
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
function isEmpty({ note }, { points, tray, markings, pictures, anaesthesia }) {
  return !(note || points.length || tray.length) && [...markings, ...pictures, ...anaesthesia].every(({ removed }) => removed);
}

function finished({ state, points, markings, pictures, anaesthesia, tray, drawn, stock, isStockNewer, reference }) {
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
    anaesthesia: [...anaesthesia.values()],
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

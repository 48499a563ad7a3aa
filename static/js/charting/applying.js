// What each kind of operation does to a session that is shown; nothing where the session holds it already.

import { needsPerson } from "./operations.js";

const LOG_FIELDS = [
  "unit", "view", "x_dmm", "y_dmm", "reach_x_dmm", "reach_y_dmm", "picture", "region", "side", "plane", "technique",
  "instrument", "gauge", "length_mm", "aspiration", "amount", "deviation", "marking", "confirmed_odd",
];
const PLACE_FIELDS = ["x_dmm", "y_dmm", "reach_x_dmm", "reach_y_dmm"];
const MARKING_FIELDS = ["view", "x_dmm", "y_dmm", "region", "side"];
const ANAESTHETIC_FIELDS = ["method", "product", "lidocaine_ug_per_ml", "with_epinephrine", "volume_ul"];
const LINE_FIELDS = [
  "what", "signs", "refill_tenths", "other_tenths", "pain", "dose_centiunits", "diluent_ul", "unit", "lot", "region", "side",
  "place", "minutes", "moment", "picture", "whom", "text", "grade",
];
const MEASURES = ["pupil_dmm", "face_height_dmm", "face_width_dmm"];

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

// By kind: what an operation makes of the draft of a session (`draftOf` in model.js).
export const APPLY = {
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
  time_out(draft, { made_at: at, data: { key } }) {
    if (!draft.time_outs.has(key)) {
      draft.time_outs.set(key, { key, at, by: draft.day?.user.name ?? "" });
    }
  },
  decide(draft, { data }) {
    if (!draft.decisions.has(data.key)) {
      draft.decisions.set(data.key, { ...data, how: data.is_done ? "afterwards" : "go_on" });
    }
  },
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
  occlude(draft, { made_at: at, data: { key } }) {
    if (!draft.occlusions.has(key)) {
      draft.occlusions.set(key, { key, at, url: "", sheet: "" });
    }
  },
  occlusion_note(draft, { made_at: at, data }) {
    if (!draft.lines.has(data.key)) {
      const line = { key: data.key, occlusion: data.occlusion, at };
      copy(line, data, LINE_FIELDS);
      draft.lines.set(data.key, line);
    }
  },
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

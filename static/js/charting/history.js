// Undo and redo of one session, without limit until it is signed. Undo is an act of its own with the inverse effect: what
// was sent, or waits to be, is never taken out of the queue, so that the record keeps what happened in its order.

const CHANGE_FIELDS = [
  "key", "unit", "view", "x_dmm", "y_dmm", "reach_x_dmm", "reach_y_dmm", "picture", "region", "side", "plane",
  "technique", "instrument", "gauge", "length_mm", "aspiration", "amount", "deviation", "marking", "confirmed_odd",
];
const PLACE_FIELDS = ["key", "x_dmm", "y_dmm", "reach_x_dmm", "reach_y_dmm"];
const SHOWN_PLACE = ["region", "side"];

const pick = (row, names) => Object.fromEntries(names.map((name) => [name, row[name] ?? null]));
const act = (kind, data, hint = null) => ({ kind, data, hint });

// Each gives [undo, redo] for an act on a thing as it was before; none for an act that is not undone.
const PAIRS = {
  log: ({ key }) => [act("remove", { key }), act("restore", { key })],
  change: (data, before, hint) => [act("change", pick(before, CHANGE_FIELDS)), act("change", data, hint)],
  move: (data, before, hint) => [
    act("move", pick(before, PLACE_FIELDS), pick(before, SHOWN_PLACE)),
    act("move", data, hint),
  ],
  remove: ({ key }) => [act("restore", { key }), act("remove", { key })],
  restore: ({ key }) => [act("remove", { key }), act("restore", { key })],
  plan: ({ key }) => [act("unplan", { key }), act("replan", { key })],
  unplan: ({ key }) => [act("replan", { key }), act("unplan", { key })],
  replan: ({ key }) => [act("unplan", { key }), act("replan", { key })],
  numb: ({ key }) => [act("numb_off", { key }), act("numb_back", { key })],
  numb_off: ({ key }) => [act("numb_back", { key }), act("numb_off", { key })],
  numb_back: ({ key }) => [act("numb_off", { key }), act("numb_back", { key })],
};

// A change says everything about a point: what the screen left out stays as it was.
export function completed(data, state) {
  const point = state?.points.find(({ key }) => key === data.key);
  return point ? { ...pick(point, CHANGE_FIELDS), ...data } : data;
}

export function newHistory(session) {
  return { session, undo: [], redo: [] };
}

// The history after an act; `before` is the shown state before it. A new act ends what could be done again.
export function remembered(history, { kind, data }, before, hint) {
  const thing = (before?.points ?? []).find(({ key }) => key === data.key);
  if (!PAIRS[kind] || (!thing && ["change", "move"].includes(kind))) {
    return history;
  }
  const [undo, redo] = PAIRS[kind](data, thing, hint);
  return { ...history, undo: [...history.undo, { undo, redo }], redo: [] };
}

// Whether an act still makes sense: another tablet may have removed the point meanwhile, or the unit it draws from has
// left the tray.
function isPossible({ kind, data }, state) {
  const list = kind.endsWith("plan") ? state.markings : kind.startsWith("numb") ? state.anaesthesia : state.points;
  const thing = list.find(({ key }) => key === data.key);
  const wantsRemoved = ["restore", "replan", "numb_back"].includes(kind);
  const unit = kind === "change" ? data.unit : kind === "restore" ? thing?.unit : null;
  const isOnTray = !unit || state.tray.some(({ pk }) => pk === unit);
  return Boolean(thing) && thing.removed === wantsRemoved && isOnTray;
}

function lastPossible(stack, side, state) {
  return stack.findLastIndex((entry) => isPossible(entry[side], state));
}

export function canStep(history, side, state) {
  return Boolean(history && state?.is_open && lastPossible(history[side], side, state) >= 0);
}

// {act, history} of one step back ("undo") or forth ("redo"), or null. What is no longer possible is passed over.
export function step(history, side, state) {
  if (!canStep(history, side, state)) {
    return null;
  }
  const other = side === "undo" ? "redo" : "undo";
  const index = lastPossible(history[side], side, state);
  const entry = history[side][index];
  return {
    act: entry[side],
    history: { ...history, [side]: history[side].slice(0, index), [other]: [...history[other], entry] },
  };
}

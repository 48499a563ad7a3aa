// An operation in words: for the list of what waits, for a conflict's two versions, for an addendum.

import { formatAmount } from "./amounts.js";

function wordOf(reference, kind, key) {
  return (reference?.words?.[kind] ?? []).find(([each]) => each === key)?.[1] ?? key ?? "";
}

function placeOf(point, reference) {
  const region = reference?.regions?.find(({ key }) => key === point.region);
  const view = reference?.views?.find(({ key }) => key === point.view);
  const side = point.side ? wordOf(reference, "side", point.side).toLowerCase() : "";
  const place = region ? region.label : `${view?.label ?? point.view ?? "unknown"} view`;
  return [place, side].filter(Boolean).join(", ");
}

function pointWords(data, state, reference) {
  const point = { ...state?.points.find(({ key }) => key === data.key), ...data };
  const unit = state?.tray.find(({ pk }) => pk === point.unit);
  const measure = unit?.measure ?? point.measure ?? "volume";
  const way = [
    wordOf(reference, "plane", point.plane).toLowerCase(),
    wordOf(reference, "technique", point.technique).toLowerCase(),
    wordOf(reference, "instrument", point.instrument).toLowerCase() + (point.gauge ? ` ${point.gauge} G` : ""),
  ].filter(Boolean);
  const stock = unit ? ` of ${unit.product_name}, lot ${unit.lot}, unit ${unit.label}` : "";
  const amount = point.amount ? `${formatAmount(point.amount, measure)}${stock}` : "";
  return [placeOf({ ...point, ...(data.region === "" && { region: point.region }) }, reference), amount, ...way]
    .filter(Boolean)
    .join(", ");
}

function numberOf(data, state) {
  const number = state?.points.find(({ key }) => key === data.key)?.number;
  return number ? `point ${number}` : "a point";
}

function unitWords(data, state) {
  const unit = state?.tray.find(({ pk }) => pk === data.unit);
  return unit ? `unit ${unit.label} (${unit.product_name}, lot ${unit.lot})` : `unit ${data.unit}`;
}

// "Nerve block, Lidocaine 2 %, 1.8 mL, lidocaine 2 % with epinephrine"
export function anaestheticWords({ method, product, volume_ul: volume, lidocaine_ug_per_ml: strength, with_epinephrine: epinephrine }, reference) {
  const amount = `${formatAmount(volume, "volume")}${method === "topical" ? " or g" : ""}`;
  const lidocaine = strength ? `lidocaine ${strength / 10000} %` : "no lidocaine";
  return [wordOf(reference, "anaesthesia", method), product, amount, `${lidocaine}${epinephrine ? " with epinephrine" : ""}`].join(", ");
}

function lineWords({ what, text }, reference) {
  const kind = (reference?.occlusion?.entries ?? []).find(([key]) => key === what)?.[1] ?? what;
  return `Occlusion log: ${kind.toLowerCase()}${text ? `, ${text}` : ""}.`;
}

const WORDS = {
  start: () => "Session started.",
  edit: () => "Note, outline or measures changed.",
  open: (data, state) => `Put on the tray: ${unitWords(data, state)}.`,
  put_back: (data, state) => `Taken off the tray: ${unitWords(data, state)}.`,
  waste(data, state) {
    const measure = state?.tray.find(({ pk }) => pk === data.unit)?.measure ?? "volume";
    return `Wasted: ${formatAmount(data.amount, measure)} of ${unitWords(data, state)}: ${data.reason}.`;
  },
  log: (data, state, reference) => `Injected: ${pointWords(data, state, reference)}.`,
  change: (data, state, reference) => `Change of ${numberOf(data, state)}: ${pointWords(data, state, reference)}.`,
  move: (data, state, reference) => `Move of ${numberOf(data, state)}: ${pointWords(data, state, reference)}.`,
  remove: (data, state) => `Removal of ${numberOf(data, state)}.`,
  restore: (data, state) => `Return of ${numberOf(data, state)}.`,
  plan: (data, _state, reference) => `Marking: ${placeOf(data, reference)}.`,
  unplan: () => "Marking taken away.",
  replan: () => "Marking brought back.",
  numb: (data, _state, reference) => `Anaesthetic: ${anaestheticWords(data, reference)}.`,
  numb_off: () => "Anaesthetic removed.",
  numb_back: () => "Anaesthetic brought back.",
  time_out: () => "Time-out done.",
  decide: ({ title, reason }) => `Started all the same: ${title} Reason: ${reason}`,
  occlude: () => "Occlusion log opened.",
  occlusion_note: (data, _state, reference) => lineWords(data, reference),
  picture: () => "Photograph.",
  calibrate: () => "Scale of a photograph.",
  drop_picture: () => "Photograph taken away.",
  set_aside: () => "Session set aside as started by mistake.",
  sign: () => "Signature.",
  addendum: (data) => `Addendum: ${data.text}`,
  withdraw: () => "Withdrawal.",
};

// "Injected: Temporal region, right, 0.2 mL of HA filler 1 mL, lot L1, unit U000012, deep fat, bolus, needle 27 G."
export function described({ op }, state, reference) {
  return WORDS[op.kind]?.(op.data, state, reference) ?? op.kind;
}

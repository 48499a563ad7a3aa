// What is asked for a line of the occlusion log, in large touches. `draft` holds what was chosen so far; it becomes the
// line's data. Nothing here is sent: occlusion.js does that.

import { formatAmount } from "./amounts.js";
import { bdi, button, icon, node } from "./dom.js";
import { unitWords } from "./occlusion_log.js";
import { againstOf, stockOf } from "./stock.js";

const REFILLS = [10, 15, 20, 25, 30, 40, 50, 60, 80, 100];
const PAINS = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10];
const AGO = [0, 2, 5, 10, 15, 20, 30, 45, 60, 90, 120, 240];
const WAITS = [15, 20, 30, 45, 60];
const MOST_UNITS = 8;

function field(label, ...body) {
  return node("div", { class: "field", "data-key": label }, node("p", { class: "field__label" }, label), body);
}

// Touches of which one, or with `many` several, are chosen: options as [value, word].
function chips(draft, name, label, options, { many = false } = {}) {
  const chosen = new Set(many ? (draft[name] ?? "").split(",") : [String(draft[name] ?? "")]);
  return field(label, node("div", { class: "chips", role: "group", "aria-label": label }, options.map(([value, word]) => button({
    class: "chip occlusion__chip", "data-occlusion-set": name, "data-value": value, "data-many": many,
    "aria-pressed": String(chosen.has(String(value))),
  }, word))));
}

function typed(draft, name, label, { rows = 0, most = 120 } = {}) {
  const about = { class: "input", "data-occlusion-typed": name, maxlength: most, dir: "auto" };
  const input = rows ? node("textarea", { ...about, rows }, draft[name] ?? "") : node("input", { ...about, value: draft[name] ?? "" });
  return node("label", { class: "field", "data-key": label }, node("span", { class: "field__label" }, label), input);
}

function seconds(draft, name, label) {
  const own = draft[name] && !REFILLS.includes(draft[name]) ? [draft[name]] : [];
  const options = [...REFILLS, ...own].sort((one, other) => one - other).map((tenths) => [tenths, `${tenths / 10} s`]);
  const isRunning = draft.timing === name;
  return [
    chips(draft, name, label, options),
    button({ class: "button button--wide occlusion__chip", "data-occlusion-time": name, "data-key": `time-${name}` },
      icon("state-due"), isRunning ? " Pink again: stop" : " Measure: press when you let go"),
  ];
}

// The places that were injected, and words for any other.
function place(screen, draft) {
  const places = new Map(screen.points.filter(({ region }) => region)
    .map(({ region, side }) => [`${region}/${side}`, screen.placeName(region, side)]));
  return [
    places.size ? chips(draft, "spot", "Where", [...places]) : null,
    typed(draft, "place", places.size ? "Where exactly, in words" : "Where"),
  ];
}

// [unit, words] of what can be given from: what this log gave from before, then the day's sealed hyaluronidase, the first
// to expire first.
export function hyaluronidaseUnits({ app }, log) {
  const products = (app.day?.stock.products ?? []).filter(({ kind }) => kind === "hyaluronidase");
  const sealed = products.flatMap(({ name, lots }) => lots.flatMap((lot) => lot.units.map((unit) => ({ ...unit, name, lot }))));
  sealed.sort((one, other) => one.lot.expires_on.localeCompare(other.lot.expires_on));
  const used = log.entries.filter(({ unit }) => unit).map((line) => [line.unit, unitWords(line, stockOf(app.day))]);
  const offered = sealed.map(({ pk, label, lot, name, against }) => {
    const reasons = againstOf(lot, { against });
    return [pk, `${name}, unit ${label}, lot ${lot.number}${reasons.length ? `: ${reasons.join(", ")}` : ""}`];
  });
  return [...new Map([...used, ...offered])].slice(0, MOST_UNITS);
}

function dose(screen, draft, log) {
  const units = hyaluronidaseUnits(screen, log);
  const amount = (name, measure, empty) => (draft[name] ? formatAmount(draft[name], measure) : empty);
  return [
    field("Given", node("div", { class: "occlusion__pair" },
      button({ class: "button occlusion__chip", "data-occlusion-amount": "dose_centiunits" }, amount("dose_centiunits", "dose", "Units")),
      button({ class: "button occlusion__chip", "data-occlusion-amount": "diluent_ul" }, amount("diluent_ul", "volume", "Diluent, mL")))),
    units.length ? chips(draft, "unit", "From", units.map(([pk, words]) => [pk, bdi(words)])) : null,
    typed(draft, "lot", units.length ? "Lot, if it is none of these" : "Lot", { most: 60 }),
    place(screen, draft),
  ];
}

function photo(screen, draft) {
  const standing = (screen.state.pictures ?? []).filter(({ removed }) => !removed);
  const options = standing.map(({ key }, index) => [key, `Photo ${index + 1}`]);
  return [
    screen.isOpen ? node("label", { class: "button button--wide occlusion__chip", "data-key": "camera" }, icon("camera"), " Take a photograph",
      node("input", { class: "visually-hidden", type: "file", accept: "image/*", capture: "environment", "data-occlusion-photo": true })) : null,
    options.length ? chips(draft, "picture", "Of this session", options) : null,
    screen.isOpen || options.length ? null : node("p", { class: "quiet" }, "The session is signed and has no photograph. Keep pictures of it with the patient’s record."),
  ];
}

function ended(screen, draft) {
  const { grades } = screen.app.reference.occlusion;
  return [
    chips(draft, "grade", "How severe", grades.map(([key, label]) => [key, label])),
    node("p", { class: "quiet", "data-key": "meaning" }, grades.find(([key]) => key === draft.grade)?.[2] ?? ""),
    typed(draft, "text", "How skin and patient are now, and what was arranged", { rows: 3, most: 2000 }),
    node("p", { class: "quiet" }, "Ending records an adverse event with this grade. Severity (CTCAE v5.0) says neither the cause nor who is to be told."),
  ];
}

// Each: title, what is asked, and what the press that stores it says.
export const FORMS = {
  first_sign: {
    title: "When was the first sign?",
    parts: (_screen, draft) => chips(draft, "ago", "Minutes ago", AGO.map((ago) => [ago, ago ? `${ago}` : "Now"])),
  },
  refill: {
    title: "Capillary refill",
    help: ({ sources }) => `Press 5 seconds, let go, count. ${sources.refill}`,
    parts: (screen, draft) => [
      seconds(draft, "refill_tenths", "This place"), seconds(draft, "other_tenths", "The same place on the other side"), place(screen, draft),
    ],
  },
  pain: { title: "Pain, 0 to 10", parts: (_screen, draft) => chips(draft, "pain", "0 is none, 10 the worst", PAINS.map((pain) => [pain, pain])) },
  signs: {
    title: "Skin signs",
    parts: (screen, draft) => [chips(draft, "signs", "What is seen", screen.app.reference.occlusion.signs, { many: true }), place(screen, draft)],
  },
  dose: { title: "Hyaluronidase", help: () => "By your local protocol: no dose is suggested here. Each dose is a line of its own.", parts: dose },
  aspirin: {
    title: "Aspirin",
    help: () => "Only by your local protocol, and if nothing speaks against it: allergy, bleeding, other medicines.",
    parts: (_screen, draft) => typed(draft, "text", "How much, and how it was taken"),
  },
  call: {
    title: "Call",
    parts: (screen, draft) => [
      chips(draft, "whom", "Who was called", (screen.app.day?.protocol?.contacts ?? []).map(({ label }) => [label, label])),
      typed(draft, "whom", "Or who else"), typed(draft, "text", "What was said", { rows: 3, most: 2000 }),
    ],
  },
  note: { title: "Note", parts: (_screen, draft) => typed(draft, "text", "What was seen, done or said", { rows: 5, most: 2000 }) },
  photo: { title: "Photograph", parts: photo },
  timer: {
    title: "Look again after",
    help: ({ sources }) => sources.reassessment,
    parts: (_screen, draft) => chips(draft, "minutes", "Minutes", WAITS.map((minutes) => [minutes, minutes])),
  },
  ended: { title: "End the log", done: "End the log", parts: ended },
};

// Those in which one touch says it all.
export const AT_ONCE = new Set(["first_sign", "pain", "timer", "photo"]);
const NUMBERS = new Set(["refill_tenths", "other_tenths", "pain", "unit", "minutes", "ago"]);

// The draft after a touch: the same value twice takes it back.
export function chosen(draft, { occlusionSet: name, value, many }) {
  if (many !== undefined) {
    const all = new Set((draft[name] ?? "").split(",").filter(Boolean));
    all.has(value) ? all.delete(value) : all.add(value);
    return { ...draft, [name]: [...all].join(",") };
  }
  const given = NUMBERS.has(name) ? Number(value) : value;
  return { ...draft, [name]: draft[name] === given ? undefined : given };
}

// The line's data from what was chosen.
export function lineData(what, { ago, spot, timing, ...draft }, now = new Date()) {
  const data = { what, ...draft };
  if (ago !== undefined) {
    data.moment = new Date(now.getTime() - ago * 60000).toISOString();
  }
  if (spot) {
    [data.region, data.side] = spot.split("/");
  }
  return Object.fromEntries(Object.entries(data).filter(([, value]) => value !== undefined && value !== "" && value !== null));
}

const MISSING = {
  refill: ({ refill_tenths: refill }) => !refill && "Not noted: choose how many seconds the refill took.",
  signs: ({ signs }) => !signs && "Not noted: choose what is seen.",
  dose: ({ dose_centiunits: given }) => !given && "Not noted: type the units that were given.",
  call: ({ whom }) => !whom?.trim() && "Not noted: say who was called.",
  note: ({ text }) => !text?.trim() && "Not noted: write the note first.",
  ended: ({ grade }) => !grade && "Not ended: choose the grade.",
};

// A sentence that says what is missing, or nothing.
export function missing(what, draft) {
  return MISSING[what]?.(draft) || "";
}


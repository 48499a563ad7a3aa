// The occlusion log as it is drawn: who, clocks, the clinic's steps, the lines, and the acts at the foot, for one thumb.

import { clockTime } from "./dates.js";
import { bdi, button, icon, node } from "./dom.js";
import { AT_ONCE, FORMS } from "./occlusion_forms.js";
import { isLoud, lineWords } from "./occlusion_log.js";
import { whereBadge } from "./points.js";
import { problem } from "./say.js";
import { stockOf } from "./stock.js";
import { alertList, personParts } from "./strip.js";

// In the order in which a hand wants them.
const ACTS = [
  ["refill", "face", "Refill"], ["pain", "chart", "Pain"], ["signs", "search", "Skin signs"], ["dose", "syringe", "Hyaluronidase"],
  ["warmth", "thermometer", "Warm"], ["massage", "move", "Massage"], ["aspirin", "vial", "Aspirin"], ["call", "phone", "Call"],
  ["photo", "camera", "Photo"], ["note", "note", "Note"], ["timer", "state-due", "Timer"], ["first_sign", "undo", "First sign"],
];
// Noted with one touch, nothing asked.
export const PLAIN = new Set(["warmth", "massage"]);

function clock(name, label) {
  return node("div", { class: "occlusion__clock", "data-key": name }, node("p", { class: "field__label" }, label),
    node("p", { class: "occlusion__time", "data-clock": name, role: "timer" }));
}

function clocks() {
  return node(
    "div", { class: "occlusion__clocks", "data-key": "clocks" },
    clock("first", "Since the first sign"), clock("dose", "Since the last dose"), clock("due", "Look again in"),
  );
}

function step({ title, text, source }, index, done) {
  const at = done.get(title);
  return node(
    "li", { class: "occlusion__step", "data-key": `step-${index}` },
    button({ class: "button occlusion__tick", "data-occlusion-step": index, "aria-pressed": String(Boolean(at)), "aria-label": `${title}: ${at ? `done at ${clockTime(at)}` : "mark as done"}` },
      at ? [icon("check"), ` ${clockTime(at)}`] : `${index + 1}`),
    node("div", {}, node("strong", {}, bdi(title)), text ? node("p", { dir: "auto" }, text) : null, node("p", { class: "small quiet" }, `Source: ${source}`)),
  );
}

function steps({ app }, log) {
  const { protocol } = app.day ?? {};
  const done = new Map(log.entries.filter(({ what }) => what === "step").map(({ text, at }) => [text, at]));
  return node(
    "section", { class: "occlusion__steps", "data-key": "steps", "aria-label": "The clinic’s protocol" },
    node("h3", {}, `Protocol: ${(protocol?.name ?? "not on this tablet").toLowerCase()}`),
    node("ol", { class: "bare" }, (protocol?.steps ?? []).map((each, index) => step(each, index, done))),
    node("p", { class: "small quiet" }, app.reference.occlusion.adapt),
  );
}

function line(screen, entry, units) {
  const { occlusion: reference } = screen.app.reference;
  const [, word] = reference.entries.find(([key]) => key === entry.what);
  const said = lineWords(entry, reference, units);
  const where = [entry.region ? screen.placeName(entry.region, entry.side) : "", entry.place].filter(Boolean).join("; ");
  return node(
    "li", { class: `occlusion__line${isLoud(entry, reference) ? " occlusion__line--loud" : ""}`, "data-key": entry.key, "data-line": entry.what },
    node("span", { class: "num" }, clockTime(entry.at)),
    node("div", {}, isLoud(entry, reference) ? icon("stop", "Concern") : null, node("strong", {}, word),
      said ? node("p", { dir: "auto" }, said) : null, where ? node("p", { class: "quiet" }, bdi(where)) : null, entry.message ? problem(entry.message) : null),
    whereBadge(entry.where),
  );
}

function lines(screen, log) {
  const units = stockOf(screen.app.day);
  const rows = [...log.entries].reverse().map((entry) => line(screen, entry, units));
  return node(
    "section", { class: "occlusion__lines", "data-key": "lines", "aria-label": "What was seen and done" },
    node("h3", {}, "What was seen and done"),
    rows.length ? node("ol", { class: "bare" }, rows) : node("p", { class: "quiet" }, `Opened at ${clockTime(log.at)}. Each touch below adds a line with its time.`),
  );
}

function emergencyBanner(log) {
  return log.entries.some(({ what }) => what === "emergency") ? node(
    "div", { class: "flag flag--stop", "data-key": "banner" }, icon("stop"),
    node("div", { class: "flag__body" }, node("p", { class: "flag__title" }, "Vision or nerve signs: emergency")),
    button({ class: "button button--danger", "data-occlusion-view": "emergency" }, "Whom to call"),
  ) : null;
}

function foot(log) {
  const isFresh = !log.entries.some(({ what }) => what === "dose" || what === "emergency");
  return node(
    "div", { class: "occlusion__foot", "data-key": "foot" },
    node("div", { class: "occlusion__acts", role: "group", "aria-label": "Write down" }, ACTS.map(([what, sign, word]) => button(
      { class: "button occlusion__act", "data-occlusion-ask": what }, icon(sign), node("span", {}, word)))),
    button({ class: "button occlusion__alarm", "data-occlusion-emergency": true }, icon("stop"), " Vision, eye or nerve signs"),
    node("div", { class: "occlusion__ends" },
      isFresh ? button({ class: "button button--plain", "data-occlusion-discard": true }, "Opened by mistake") : null,
      log.sheet ? node("a", { class: "button", href: log.sheet, target: "_blank", rel: "noopener" }, icon("print"), " Handover sheet") : null,
      button({ "data-occlusion-ask": "ended" }, "End the log")),
  );
}

function head(screen, title) {
  const { patient } = screen.state;
  return node(
    "div", { class: "dialog__head occlusion__head", "data-key": "head" },
    node("div", {}, node("h2", { id: "sheet-occlusion-title" }, title), node("p", {}, bdi(patient.name), " ", personParts(patient)), alertList(patient.alerts)),
    button({ "data-dialog-close": true }, icon("face"), " To the chart"),
  );
}

export function logParts(screen, log) {
  return [
    head(screen, "Occlusion log"), clocks(),
    node("div", { class: "occlusion__body", "data-key": "body" }, emergencyBanner(log), steps(screen, log), lines(screen, log)),
    foot(log),
  ];
}

export function formParts(screen, log, { what, draft, trouble }) {
  const { title, help, done = "Note it", parts } = FORMS[what];
  return [
    head(screen, title),
    node("div", { class: "occlusion__form", "data-key": `form-${what}` },
      problem(trouble), help ? node("p", { class: "quiet" }, help(screen.app.reference.occlusion)) : null, parts(screen, draft, log)),
    node("div", { class: "occlusion__foot occlusion__foot--form", "data-key": `foot-${what}` },
      button({ class: "button occlusion__act", "data-occlusion-view": "log" }, icon("chevron-left"), " Back"),
      AT_ONCE.has(what) ? null : button({ class: "button button--primary occlusion__act", "data-occlusion-done": true }, done)),
  ];
}

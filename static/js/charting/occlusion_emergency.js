// The full screen of an emergency: whom to call, since when, what to say. It stays until somebody goes back.

import { clockTime, shortTime } from "./dates.js";
import { bdi, button, icon, node } from "./dom.js";
import { firstSignAt, lineWords } from "./occlusion_log.js";
import { stockOf } from "./stock.js";
import { alertList, personParts } from "./strip.js";
import { totalsParts } from "./sums.js";

const NUMBER = /\+?\d[\d\s()/-]{1,}\d/;

// A line to call by: the label, the words the clinic keeps, and a link where a number stands in them.
function contact({ label, text }, calls) {
  const number = text.match(NUMBER)?.[0].replace(/[^\d+]/g, "");
  const called = calls.filter(({ whom }) => whom === label).map(({ at }) => clockTime(at));
  const words = text || (label === "Emergency services" ? "your local number, such as 112, 999 or 911" : "no number set");
  return node(
    "li", { class: "emergency__contact", "data-key": label },
    node("div", {}, node("strong", {}, label), node("p", { class: "emergency__number" }, number ? node("a", { href: `tel:${number}` }, bdi(words)) : bdi(words)),
      called.length ? node("p", {}, `Called at ${called.join(", ")}`) : null),
    button({ class: "button occlusion__act", "data-occlusion-called": label }, icon("phone"), " Called"),
  );
}

// What whoever answers the telephone asks next, read from this page alone.
function told({ app, state: { patient, totals } }, log) {
  const units = stockOf(app.day);
  const given = log.entries.filter(({ what }) => what === "dose").map((line) => `${clockTime(line.at)}: ${lineWords(line, app.reference.occlusion, units)}`);
  return node(
    "dl", { class: "emergency__told" },
    node("div", {}, node("dt", {}, "Patient"), node("dd", {}, bdi(patient.name), " ", personParts(patient))),
    node("div", {}, node("dt", {}, "Allergies and alerts"), node("dd", {}, alertList(patient.alerts))),
    node("div", {}, node("dt", {}, "Injected"), node("dd", { class: "sums" }, totals.products.length ? totalsParts(totals) : "No point was logged.")),
    node("div", {}, node("dt", {}, "Hyaluronidase given"), node("dd", {}, given.length ? given.map((words) => node("p", { dir: "auto" }, words)) : "None noted.")),
  );
}

function sayings({ state, app }, log) {
  const injector = app.user?.name ?? "";
  const treated = state.started_at ? shortTime(state.started_at) : "";
  return [
    app.day?.protocol?.say ? node("p", { dir: "auto" }, app.day.protocol.say) : null,
    node("p", {}, `“Injection of filler in the face${treated ? ` from ${treated}` : ""}. Signs of a blocked vessel to eye or brain since ${shortTime(firstSignAt(log))}. Minutes count.”`),
    node("p", {}, "Then what stands under “Asked next”. Calling: ", bdi(injector), "."),
  ];
}

export function emergencyParts(screen, log) {
  const { occlusion: reference } = screen.app.reference;
  const [line] = log.entries.filter(({ what }) => what === "emergency");
  const calls = log.entries.filter(({ what }) => what === "call");
  const said = new Set(log.entries.filter(({ what }) => what === "emergency").flatMap(({ signs }) => (signs ?? "").split(",")));
  const contacts = screen.app.day?.protocol?.contacts ?? [{ label: "Emergency services", text: "" }];
  return node(
    "div", { class: "emergency", "data-emergency": true, "data-key": "emergency" },
    node("div", { class: "emergency__head" }, icon("stop"),
      node("div", {}, node("h2", { id: "sheet-occlusion-title" }, "Emergency: call emergency services now"),
        node("p", {}, "Stop injecting. Stay with the patient. Noted at ", line ? clockTime(line.at) : "", ", ", node("span", { class: "num", "data-clock": "emergency" }), " ago. First sign ", node("span", { class: "num", "data-clock": "first" }), " ago."))),
    node("div", { class: "emergency__body" },
      node("div", { class: "emergency__whom" },
        node("ul", { class: "emergency__contacts" }, contacts.map((row) => contact(row, calls))),
        node("h3", {}, "Asked next, as this tablet has it"), told(screen, log)),
      node("div", { class: "emergency__say" },
        node("h3", {}, "What to say"), sayings(screen, log),
        node("h3", {}, "Which signs? One touch each"),
        node("div", { class: "chips", role: "group", "aria-label": "Signs" }, reference.emergency_signs.map(([key, word]) => button({
          class: "chip occlusion__chip", "data-occlusion-sign": key, "aria-pressed": String(said.has(key)), disabled: said.has(key),
        }, word))),
        node("p", { class: "quiet" }, `${reference.sources.vision}. ${reference.sources.signs}.`),
        node("p", { class: "quiet" }, reference.adapt))),
    node("div", { class: "emergency__foot" }, button({ class: "button button--wide occlusion__act", "data-occlusion-view": "log" }, icon("chevron-left"), " Back to the occlusion log")),
  );
}

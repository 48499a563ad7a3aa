// The pause before the first point: six things said aloud, each confirmed by a touch, or with a word why it is not so.
// Beside each stands what the tablet knows of it. Nothing is refused without it; points given before it are flagged.

import { pluralOf, shortDay, shortTime } from "./dates.js";
import { button, icon, node, on } from "./dom.js";
import { heard } from "./gates.js";
import { newKey } from "./ids.js";
import { problem } from "./say.js";
import { fillSheet, openSheet, sheetNamed } from "./sheet.js";

const LONGEST_FACTS = 1000;

// {screen, answers: Map item -> {is_confirmed, note, asksNote}, trouble}
let about = null;

// The patient as the day has them, or nothing.
const known = ({ app, state }) => app.day?.patients.find(({ pk }) => pk === state.patient.pk);

function gatesOf(screen, ...begins) {
  const found = (known(screen)?.gates ?? []).filter(({ key }) => begins.some((begin) => key.startsWith(begin)));
  return found.map(({ title }) => title);
}

function kitFacts({ app }) {
  const kit = app.day?.kit ?? [];
  const told = ({ site, words }) => (site ? `${site}: ${words}` : words);
  const odd = kit.filter(({ state }) => state !== "ready");
  const ready = kit.length - odd.length;
  const rest = ready ? [`${pluralOf(ready, "item")} there and in date.`] : [];
  return kit.length ? [...odd.map(told), ...rest].join("\n") : "Nothing is on the clinic’s list.";
}

const FACTS = {
  identity: ({ state: { patient } }) => `${patient.name}, born ${patient.birth_date ? shortDay(patient.birth_date) : "on an unknown day"}`,
  allergies: ({ state: { patient } }) => patient.alerts.map(({ label, text }) => `${label}: ${text}`).join("; ") || "No alert recorded: ask.",
  consent: (screen) => [...gatesOf(screen, "consent", "cooling-off"), `In force: ${known(screen)?.on_record?.consents.join("; ") || "none on record"}.`].join(". "),
  photographs: (screen) => {
    const count = screen.state.pictures.filter(({ removed }) => !removed).length;
    const views = known(screen)?.on_record?.photographs ?? 0;
    const today = views ? ` ${pluralOf(views, "view")} of the day in the record.` : "";
    return [`${count ? pluralOf(count, "photograph") : "None"} in this session.${today}`, ...gatesOf(screen, "photograph")].join(" ");
  },
  units: ({ units }) => units.map(({ product_name: name, lot, expires_on: expires }) => `${name}, lot ${lot}${expires ? `, expires ${shortDay(expires)}` : ""}`).join("; ") || "None opened yet.",
  kit: kitFacts,
};

const factsOf = (item) => FACTS[item](about.screen).slice(0, LONGEST_FACTS);

function row([item, label]) {
  const { is_confirmed: isConfirmed, note, asksNote } = about.answers.get(item);
  return node(
    "li", { class: `pause__row${isConfirmed ? " is-confirmed" : ""}`, "data-key": item },
    node("div", { class: "pause__what" }, node("p", { class: "pause__label" }, label), node("p", { class: "pause__facts quiet", dir: "auto" }, factsOf(item)),
      asksNote ? node("label", { class: "field" }, node("span", { class: "field__label" }, "Why not"),
        node("input", { class: "input", maxlength: 300, dir: "auto", "data-pause-note": item, value: note })) : null),
    node("div", { class: "pause__acts" },
      button({ class: `button${isConfirmed ? " button--primary" : ""}`, "data-pause-yes": item, "aria-pressed": String(isConfirmed), "aria-label": `Confirm: ${label}` }, icon("check"), " Confirm"),
      button({ class: "button button--plain", "data-pause-no": item, "aria-pressed": String(asksNote), "aria-label": `Not so: ${label}` }, "Not so")),
  );
}

function parts() {
  const { screen, trouble } = about;
  return {
    title: "Time-out",
    head: [node("p", { class: "quiet" }, "Say each aloud, then touch it. ", heard(screen))],
    body: node("div", {}, problem(trouble), node("ul", { class: "pause" }, screen.app.reference.words.time_out.map(row))),
    foot: [
      button({ class: "button", "data-dialog-close": true }, "Later"),
      button({ class: "button button--primary", "data-pause-done": true }, "Time-out done"),
    ],
  };
}

const draw = () => fillSheet(sheetNamed("time_out"), parts());

function answer(item, values) {
  Object.assign(about.answers.get(item), values);
  about.trouble = "";
  draw();
}

function record() {
  const { screen, answers } = about;
  const open = screen.app.reference.words.time_out.filter(([item]) => !answers.get(item).is_confirmed && !answers.get(item).note.trim());
  if (open.length) {
    about.trouble = `Still open: ${open.map(([, label]) => label).join("; ")}. Confirm it, or say why it is not so.`;
    draw();
    return;
  }
  const checks = [...answers].map(([item, { is_confirmed, note }]) => ({ item, is_confirmed, note: is_confirmed ? "" : note.trim(), facts: factsOf(item) }));
  const key = newKey();
  sheetNamed("time_out").close();
  screen.act("time_out", { key, checks });
  screen.sayStored("Time-out done.", ({ time_outs: done }) => done.find((each) => each.key === key)?.where);
}

export function openTimeOut(screen) {
  const items = screen.app.reference.words.time_out ?? [];
  about = { screen, trouble: "", answers: new Map(items.map(([item]) => [item, { is_confirmed: false, note: "", asksNote: false }])) };
  openSheet(sheetNamed("time_out"), parts());
}

// "Time-out 14:05", or nothing where there was none.
export function timeOutWords({ time_outs: [first] }) {
  return first ? `Time-out ${shortTime(first.at)}` : "";
}

export function attachTimeOut() {
  const sheet = sheetNamed("time_out");
  on(sheet, "click", "data-pause-yes", ({ dataset: { pauseYes } }) => answer(pauseYes, { is_confirmed: !about.answers.get(pauseYes).is_confirmed, asksNote: false }));
  on(sheet, "click", "data-pause-no", ({ dataset: { pauseNo } }) => {
    answer(pauseNo, { is_confirmed: false, asksNote: true });
    sheet.querySelector(`[data-pause-note="${pauseNo}"]`).focus();
  });
  on(sheet, "input", "data-pause-note", ({ dataset, value }) => Object.assign(about.answers.get(dataset.pauseNote), { note: value }));
  on(sheet, "click", "data-pause-done", record);
}

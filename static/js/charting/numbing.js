// Anaesthesia beside the products that are injected: block, infiltration or cream. Its lidocaine is added to that of the
// fillers by the clinic's record, which flags the sum.

import { formatAmount } from "./amounts.js";
import { shortTime } from "./dates.js";
import { bdi, button, drawOnChange, icon, node, on, patch } from "./dom.js";
import { newKey } from "./ids.js";
import { askAmount } from "./keypad.js";
import { problem } from "./say.js";
import { fillSheet, openSheet, sheetNamed } from "./sheet.js";
import { anaestheticWords } from "./words.js";

// Micrograms per millilitre, as commonly sold (from memory); any other can be typed.
const STRENGTHS = [0, 10000, 20000, 40000, 50000];
const EMPTY = { method: "", product: "", lidocaine_ug_per_ml: null, with_epinephrine: false, volume_ul: null };
const NEEDED = { method: "how it was given", product: "its name", lidocaine_ug_per_ml: "how strong it is", volume_ul: "the amount" };

let about = null;

const strengthWord = (strength) => (strength ? `${strength / 10000} %` : "No lidocaine");

function chips(label, rows) {
  return node("div", { class: "field" }, node("p", { class: "field__label" }, label), node("div", { class: "chips", role: "group", "aria-label": label }, rows));
}

function recentRows({ app }) {
  return (app.day?.anaesthetics ?? []).map(({ product, lidocaine_ug_per_ml: strength, with_epinephrine: epinephrine }, index) => button(
    { class: "chip", "data-numb-recent": index }, bdi(product), ` ${strengthWord(strength)}${epinephrine ? ", epinephrine" : ""}`,
  ));
}

function strengthRows({ lidocaine_ug_per_ml: chosen }) {
  const offered = chosen === null || STRENGTHS.includes(chosen) ? STRENGTHS : [...STRENGTHS, chosen];
  const rows = offered.map((strength) => button({ class: "chip", "data-numb-strength": strength, "aria-pressed": String(strength === chosen) }, strengthWord(strength)));
  return [...rows, button({ class: "chip", "data-numb-other": true }, "Another …")];
}

function parts() {
  const { screen, given, trouble } = about;
  const methods = screen.app.reference.words.anaesthesia.map(([key, word]) => button(
    { class: "chip", "data-numb-method": key, "aria-pressed": String(given.method === key) }, word,
  ));
  const recent = recentRows(screen);
  const amount = given.volume_ul === null ? "Type the amount" : `${formatAmount(given.volume_ul, "volume")}${given.method === "topical" ? " or g" : ""}`;
  return {
    title: "Anaesthetic",
    body: node(
      "div", { class: "numbing" },
      problem(trouble),
      recent.length ? chips("Used here before", recent) : null,
      chips("How", methods),
      node("label", { class: "field" }, node("span", { class: "field__label" }, "Name on the pack"),
        node("input", { class: "input", "data-numb-product": true, maxlength: 200, dir: "auto", value: given.product })),
      chips("Lidocaine", strengthRows(given)),
      node("div", { class: "chips" }, button({ class: "chip", "data-numb-epinephrine": true, "aria-pressed": String(given.with_epinephrine) }, "With epinephrine")),
      node("div", { class: "field" }, node("p", { class: "field__label" }, "Amount; of a cream in grams"), button({ "data-numb-amount": true }, amount)),
    ),
    foot: [button({ class: "button button--primary", "data-numb-done": true }, "Note it")],
  };
}

function change(values, trouble = "") {
  Object.assign(about.given, values);
  about.trouble = trouble;
  fillSheet(sheetNamed("numbing"), parts());
}

function record() {
  const { screen, given } = about;
  const missing = Object.keys(NEEDED).filter((name) => given[name] === null || given[name] === "" || (name === "product" && !given.product.trim()));
  if (missing.length) {
    change({}, `Not noted: say ${missing.map((name) => NEEDED[name]).join(", ")}.`);
    return;
  }
  const key = newKey();
  const data = { key, ...given, product: given.product.trim() };
  screen.act("numb", data);
  sheetNamed("numbing").close();
  screen.sayStored(`${anaestheticWords(data, screen.app.reference)}: noted.`, ({ anaesthesia }) => anaesthesia.find((row) => row.key === key)?.where);
}

function askVolume() {
  askAmount({
    title: "Amount of the anaesthetic", measure: "volume", amount: about.given.volume_ul,
    help: "In millilitres; of a cream in grams.",
    act: (volume_ul) => change({ volume_ul }),
  });
}

function askStrength() {
  askAmount({ title: "Lidocaine in per cent", measure: "percent", help: "1 % is 10 mg in 1 mL.", act: (strength) => change({ lidocaine_ug_per_ml: strength }) });
}

function listen(sheet) {
  on(sheet, "click", "data-numb-method", ({ dataset }) => change({ method: dataset.numbMethod }));
  on(sheet, "click", "data-numb-strength", ({ dataset }) => change({ lidocaine_ug_per_ml: Number(dataset.numbStrength) }));
  on(sheet, "click", "data-numb-epinephrine", () => change({ with_epinephrine: !about.given.with_epinephrine }));
  on(sheet, "click", "data-numb-recent", ({ dataset }) => {
    const { method, product, lidocaine_ug_per_ml, with_epinephrine } = about.screen.app.day.anaesthetics[Number(dataset.numbRecent)];
    change({ method: method || about.given.method, product, lidocaine_ug_per_ml, with_epinephrine });
  });
  on(sheet, "click", "data-numb-other", askStrength);
  on(sheet, "click", "data-numb-amount", askVolume);
  on(sheet, "click", "data-numb-done", record);
  sheet.addEventListener("input", ({ target }) => Object.assign(about.given, { product: target.value }));
}

function row(screen, given) {
  const remove = screen.isOpen ? button({ class: "button button--plain button--icon", "data-numb-off": given.key }, icon("trash", `Remove ${given.product}`)) : null;
  return node("li", { class: "numbing__row", "data-key": given.key, "data-where": given.where },
    node("span", {}, bdi(anaestheticWords(given, screen.app.reference)), node("span", { class: "points__sub" }, shortTime(given.given_at))), remove);
}

export function attachNumbing(screen, root) {
  drawOnChange(screen, () => {
    if (!screen.state) {
      return;
    }
    const given = screen.state.anaesthesia.filter(({ removed }) => !removed);
    patch(
      root, node("h3", {}, "Anaesthesia"),
      given.length ? node("ul", { class: "numbing__list" }, given.map((each) => row(screen, each)))
        : node("p", { class: "quiet small" }, "None beside what the products hold."),
      screen.isOpen ? button({ class: "button", "data-numb": true }, icon("plus"), " Block, infiltration or cream") : null,
    );
  });
  on(root, "click", "data-numb", () => {
    const sheet = sheetNamed("numbing");
    if (!about) {
      listen(sheet);
    }
    about = { screen, given: { ...EMPTY }, trouble: "" };
    openSheet(sheet, parts());
  });
  on(root, "click", "data-numb-off", ({ dataset }) => {
    screen.act("numb_off", { key: dataset.numbOff });
    screen.say("Anaesthetic removed. Undo brings it back.");
  });
}

// Which unit to put on the tray, from the stock as this tablet last heard of it: first expired first, with the reason
// where the clinic would refuse it. Works without network; the clinic looks again when the entry gets there.

import { formatAmount } from "./amounts.js";
import { shortDay, shortTime } from "./dates.js";
import { button, icon, node, on } from "./dom.js";
import { foundAs, foundBy } from "./found.js";
import { foundCard } from "./found_card.js";
import { askAmount } from "./keypad.js";
import { diluentDoubt } from "./plausibility.js";
import { empty } from "./say.js";
import { fillSheet, openSheet, sheetNamed } from "./sheet.js";
import { openedRows, sealedRows, unitsInUse } from "./shelves.js";
import { againstOf, stockOf } from "./stock.js";
import { alertList } from "./strip.js";

// More products than these do not fit on the sheet at once.
const FEW = 3;
const OPENED = "Open already";
const FEW_LABELS = 6;
const NO_STOCK = { products: [], opened: [] };

// {screen, day: as it was drawn, scanned: {text, scan} or null, chosen: the row taken instead of what was scanned}
let about = null;

function againstList(reasons) {
  return reasons.map((reason) => node("p", { class: "candidate__against" }, icon("stop"), reason));
}

// What was used against the rules is written down with its reason; only for what has happened.
function usedForm(pk, label) {
  return node(
    "details", { class: "candidate__used", "data-key": `used-${pk}` }, node("summary", { class: "button button--plain" }, "It was already used …"),
    node("div", { class: "form" },
      node("label", { class: "field" }, node("span", { class: "field__label" }, "Write down why it was used"),
        node("input", { class: "input", maxlength: 300, "data-used-reason": pk }),
        node("span", { class: "field__help" }, "Only for what has happened. It is shown as a flag on the note.")),
      button({ class: "button button--danger", "data-open-used": pk }, `Write down ${label} as used`)),
  );
}

function candidate({ pk, label, text, facts, against, act, first, used }) {
  return node(
    "li", { class: `candidate${against.length ? " candidate--refused" : ""}`, "data-key": `candidate-${pk}` },
    node("div", { class: "candidate__about" }, node("p", {}, text), facts ? node("p", { class: "quiet small" }, facts) : null, againstList(against)),
    against.length ? used
      : button({ class: `button candidate__act${first ? " button--primary" : ""}`, "data-open-now": pk }, `${act} ${label}`),
  );
}

// "U000012, U000013 and 4 more"
function labelsOf(units) {
  const named = units.slice(0, FEW_LABELS).map(({ label }) => label).join(", ");
  return units.length > FEW_LABELS ? `${named} and ${units.length - FEW_LABELS} more` : named;
}

function sealedRow({ product, lot, unit, units, against }, first) {
  const isRefused = against.length > 0;
  const isOne = units.length === 1;
  return candidate({
    pk: unit.pk, label: unit.label, against, first, act: "Open",
    text: ["Lot ", node("b", {}, lot.number), node("span", { class: "quiet" }, ` expires ${shortDay(lot.expires_on)} · ${units.length} in stock`)],
    facts: isRefused ? labelsOf(units) : product.asks_diluent ? "Asks for the diluent: the units in 0.1 mL depend on it." : "",
    used: isOne ? usedForm(unit.pk, unit.label) : node("p", { class: "quiet small" }, "If one of them was used all the same, scan it or type its label."),
  });
}

function openedRow(row) {
  const left = row.content - row.drawn - row.wasted;
  const diluent = row.diluent_ul ? `, made up with ${formatAmount(row.diluent_ul, "volume")}` : "";
  const before = row.use_before ? `, use before ${shortTime(row.use_before)}` : "";
  return candidate({
    pk: row.pk, label: row.label, against: row.against ?? [], act: "Use", used: usedForm(row.pk, row.label),
    text: [node("b", {}, row.product_name), ` · Lot ${row.lot} · ${row.label}, `, node("b", { class: "num" }, formatAmount(left, row.measure)), " left"],
    facts: `${row.patient === null ? "Shared vial" : "Kept for this patient"}, opened ${shortTime(row.opened_at)}${diluent}${before}`,
  });
}

function shelf(title, tags, rows, key, kind) {
  return node("section", { class: "shelf", "data-key": key, "data-shelf": kind }, node("h3", {}, title, tags.map((tag) => [" ", node("span", { class: "tag" }, tag)])), node("ul", {}, rows));
}

// One touch to a kind of product, however much is on the shelf.
function ways(kinds) {
  return node("div", { class: "chips shelf__ways", role: "group", "aria-label": "Go to" },
    kinds.map((kind) => button({ class: "chip", "data-to-shelf": kind }, kind)));
}

function goTo(sheet, kind) {
  const found = sheet.querySelector(`[data-shelf="${CSS.escape(kind)}"]`);
  const head = sheet.querySelector(".dialog__head");
  sheet.scrollTop += found.getBoundingClientRect().top - head.getBoundingClientRect().bottom;
}

function scanField() {
  const field = document.querySelector("[data-opening-scan]").content.firstElementChild.cloneNode(true);
  Object.assign(field.dataset, { key: "scan", keep: "" });
  return field;
}

function shelfOf({ app, state, units, sessions }) {
  return { stock: app.day?.stock ?? NO_STOCK, patient: state.patient, tray: new Set(units.map(({ pk }) => pk)), used: unitsInUse(sessions) };
}

// What was scanned as the stock stands now; the row that was taken instead of it.
function found() {
  const { screen, scanned, chosen } = about;
  const shelf = shelfOf(screen);
  return chosen ? foundAs(chosen, shelf) : scanned && foundBy(scanned.text, scanned.scan, shelf);
}

function shelves({ stock, patient, tray, used }) {
  const opened = openedRows(stock.opened, patient, tray);
  const products = stock.products.map((product) => [product, sealedRows(product, used)]).filter(([, rows]) => rows.length);
  const kinds = [...new Set([...(opened.length ? [OPENED] : []), ...products.map(([product]) => product.kind_label)])];
  products.sort(([one], [other]) => kinds.indexOf(one.kind_label) - kinds.indexOf(other.kind_label));
  const isEmpty = !opened.length && !products.length;
  return {
    head: products.length > FEW ? ways(kinds) : null,
    body: [
      opened.length ? shelf(OPENED, [], opened.map(openedRow), "opened", OPENED) : null,
      products.map(([product, rows]) => shelf(product.name, [product.kind_label, product.lidocaine && `Lidocaine ${product.lidocaine}`].filter(Boolean), rows.map((row, index) => sealedRow(row, index === 0)), `product-${product.pk}`, product.kind_label)),
      isEmpty ? empty("No stock is known on this tablet", "Ask the practice owner to receive a lot, or come in contact with the clinic once.", "stock") : null,
    ],
  };
}

function parts() {
  const { screen } = about;
  const { patient } = screen.state;
  const scanned = found();
  const { head, body } = scanned ? { head: null, body: foundCard(scanned, { usedForm, rowOf: (row) => sealedRow(row, false) }) } : shelves(shelfOf(screen));
  return {
    title: ["Open a unit for ", node("bdi", {}, patient.name)],
    head: [alertList(patient.alerts), head],
    body: [scanField(), body, scanned ? button({ class: "button button--plain found__back", "data-found-back": true }, "Show all that is in stock") : null],
  };
}

// {unit, product, isSealed, against} of a unit the tablet knows.
function known({ day }, pk) {
  const { products, opened } = day?.stock ?? NO_STOCK;
  for (const product of products) {
    for (const lot of product.lots) {
      const unit = lot.units.find((each) => each.pk === pk);
      if (unit) {
        return { unit, product, isSealed: true, against: againstOf(lot, unit) };
      }
    }
  }
  const unit = opened.find((each) => each.pk === pk);
  return { unit, product: null, isSealed: false, against: unit.against ?? [] };
}

function put({ unit }, { diluent_ul = null, diluent = "", no_diluent = false, deviation = "", confirmed_odd = "" } = {}) {
  const { screen } = about;
  sheetNamed("opening").close();
  // Used elsewhere meanwhile it leaves the day's stock: what it is has to be known all the same.
  const hint = { unit: stockOf(screen.app.day).get(unit.pk) };
  screen.app.act("open", screen.sessionKey, { unit: unit.pk, diluent_ul, diluent, no_diluent, deviation, confirmed_odd }, { hint });
  screen.chooseUnit(unit.pk);
  screen.say(`Unit ${unit.label}, ${screen.unit?.product_name ?? ""}, is on the tray.`);
}

// A toxin about to be opened: how much of it is in a drop depends on what it is made up with.
function open(found, deviation = "") {
  if (!found.isSealed || !found.product.asks_diluent) {
    put(found, { deviation });
    return;
  }
  const { diluents, diluent } = found.product;
  askAmount({
    title: `What is ${found.unit.label} made up with?`, measure: "volume",
    help: `The units in 0.1 mL depend on it.${diluents?.length ? " Above the keys: what it was made up with here before." : ""}`,
    steps: diluents,
    choice: { label: "Diluent", options: about.screen.app.reference.words.diluent, chosen: diluent ?? "", missing: "Choose the diluent as well." },
    doubt: (volume) => diluentDoubt(volume, found.product.usual_diluent_ul ?? null),
    act: (diluent_ul, chosen, confirmed_odd) => put(found, { diluent_ul, diluent: chosen, deviation, confirmed_odd }),
    extra: { label: "Ready to use, or not known", act: () => put(found, { no_diluent: true, deviation }) },
  });
}

// What was scanned, said and shown. No button gets the focus: the Enter of a scanner must never press one.
function show(sheet, values) {
  Object.assign(about, values);
  fillSheet(sheet, parts());
  sheet.scrollTop = 0;
  const card = sheet.querySelector("[data-found]");
  about.screen.say(card ? card.innerText.replace(/\s+/g, " ") : "All that is in stock.");
  (card ?? sheet.querySelector("[data-dialog-close]")).focus();
}

// The sheet, with what was scanned elsewhere on the screen still to come.
export function openOpening(screen) {
  about = { screen, day: screen.app.day, scanned: null, chosen: null };
  const sheet = sheetNamed("opening");
  openSheet(sheet, parts());
  return sheet;
}

function writeUsed(pressed) {
  const { screen } = about;
  const field = pressed.closest("details").querySelector("[data-used-reason]");
  if (field.value.trim()) {
    open(known(screen.app, Number(pressed.dataset.openUsed)), field.value.trim());
  } else {
    field.focus();
    screen.say("Write down why it was used.");
  }
}

export function attachOpening(screen) {
  const { app } = screen;
  const sheet = sheetNamed("opening");
  on(document.body, "click", "data-open-unit", () => openOpening(screen));
  on(sheet, "click", "data-open-now", ({ dataset }) => open(known(app, Number(dataset.openNow))));
  on(sheet, "click", "data-open-used", writeUsed);
  on(sheet, "click", "data-to-shelf", ({ dataset }) => goTo(sheet, dataset.toShelf));
  on(sheet, "click", "data-found-other", ({ dataset }) => show(sheet, { chosen: found()[dataset.foundOther] }));
  on(sheet, "click", "data-found-back", () => show(sheet, { scanned: null, chosen: null }));
  sheet.addEventListener("scanned", ({ target, detail: { text, scan } }) => {
    target.value = "";
    sheet.querySelector("[data-scan-said]").textContent = "";
    show(sheet, { scanned: { text, scan }, chosen: null });
  });
  // The stock as it is heard of: what is refused by now is not offered any more.
  app.addEventListener("change", () => {
    if (sheet.open && about.day !== app.day && screen.state) {
      about.day = app.day;
      fillSheet(sheet, parts());
    }
  });
  // The lock takes the sheet's content out of the page. Not every browser closes a dialog with that: it would come back open.
  let camera = null;
  on(sheet, "click", "data-scan-camera", () => {
    camera = sheet.querySelector("[data-scan-dialog]");
  });
  app.addEventListener("locked", () => camera?.close());
}

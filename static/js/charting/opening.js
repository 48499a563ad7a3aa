// Which unit to put on the tray, from the stock as this tablet last heard of it: first expired first, with the reason
// where the clinic would refuse it. Works without network; the clinic looks again when the entry gets there.

import { formatAmount } from "./amounts.js";
import { shortDay, shortTime } from "./dates.js";
import { button, icon, node, on } from "./dom.js";
import { askAmount } from "./keypad.js";
import { empty, problem } from "./say.js";
import { fillSheet, openSheet, sheetNamed } from "./sheet.js";
import { stockOf } from "./stock.js";
import { alertList } from "./strip.js";

// More products than these do not fit on the sheet at once.
const FEW = 3;
const OPENED = "Open already";

let about = null;

// Units on a tray of this tablet, in this session or another: not on the shelf any more.
function usedUnits(screen) {
  return new Set(screen.sessions.flatMap(({ tray }) => tray.map(({ pk }) => pk)));
}

// One candidate for each lot: its first sealed unit; those refused come last. Shape: {unit, lot, against, alike, opened}.
function sealedOf(product, used) {
  const rows = product.lots.map((lot) => {
    const units = lot.units.filter(({ pk }) => !used.has(pk));
    return { product, lot, unit: units[0], alike: units.length, against: lot.against };
  });
  const byExpiry = (one, other) => Boolean(one.against.length) - Boolean(other.against.length) || one.lot.expires_on.localeCompare(other.lot.expires_on);
  return rows.filter(({ unit }) => unit).sort(byExpiry);
}

function openedOf(stock, patient, tray) {
  const mine = stock.opened.filter(({ patient: whose, pk }) => (whose === null || whose === patient.pk) && !tray.has(pk));
  return mine.filter(({ content, drawn, wasted }) => content > drawn + wasted);
}

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

function candidate({ pk, label, text, facts, against, act, first }) {
  return node(
    "li", { class: `candidate${against.length ? " candidate--refused" : ""}`, "data-key": `candidate-${pk}` },
    node("div", { class: "candidate__about" }, node("p", {}, text), facts ? node("p", { class: "quiet small" }, facts) : null, againstList(against)),
    against.length ? usedForm(pk, label)
      : button({ class: `button candidate__act${first ? " button--primary" : ""}`, "data-open-now": pk }, `${act} ${label}`),
  );
}

function sealedRow({ product, lot, unit, alike, against }, first) {
  return candidate({
    pk: unit.pk, label: unit.label, against, first, act: "Open",
    text: ["Lot ", node("b", {}, lot.number), node("span", { class: "quiet" }, ` expires ${shortDay(lot.expires_on)} · ${alike} in stock`)],
    facts: product.asks_diluent && !against.length ? "Asks for the diluent: the units in 0.1 mL depend on it." : "",
  });
}

function openedRow(row) {
  const left = row.content - row.drawn - row.wasted;
  const diluent = row.diluent_ul ? `, made up with ${formatAmount(row.diluent_ul, "volume")}` : "";
  const before = row.use_before ? `, use before ${shortTime(row.use_before)}` : "";
  return candidate({
    pk: row.pk, label: row.label, against: row.against ?? [], act: "Use",
    text: [node("b", {}, row.product_name), ` · Lot ${row.lot} · ${row.label}, `, node("b", { class: "num" }, formatAmount(left, row.measure)), " left"],
    facts: `${row.patient === null ? "Shared vial" : "Kept for this patient"}, opened ${shortTime(row.opened_at)}${diluent}${before}`,
  });
}

function shelf(title, tags, rows, key, kind) {
  return node("section", { class: "shelf", "data-key": key, "data-shelf": kind }, node("h3", {}, title, tags.map((tag) => [" ", node("span", { class: "tag" }, tag)])), node("ul", {}, rows));
}

// One touch to a kind of product, however much is on the shelf.
function ways(kinds) {
  const chips = [...kinds.map((kind) => [kind, kind]), ["By its label", "typed"]];
  return node("div", { class: "chips shelf__ways", role: "group", "aria-label": "Go to" },
    chips.map(([label, kind]) => button({ class: "chip", "data-to-shelf": kind }, label)));
}

function goTo(sheet, kind) {
  const found = sheet.querySelector(`[data-shelf="${CSS.escape(kind)}"]`);
  const head = sheet.querySelector(".dialog__head");
  sheet.scrollTop += found.getBoundingClientRect().top - head.getBoundingClientRect().bottom;
}

function byLabel() {
  return node(
    "section", { class: "shelf shelf--typed", "data-key": "typed", "data-shelf": "typed" }, node("h3", {}, "By its label"),
    problem(about.trouble),
    node("div", { class: "form-row" },
      node("label", { class: "field" }, node("span", { class: "field__label" }, "Label"),
        node("input", { class: "input", id: "typed-label", maxlength: 20, placeholder: "U000012", autocapitalize: "characters", autocomplete: "off" })),
      node("label", { class: "field" }, node("span", { class: "field__label" }, "It was used already, because"),
        node("input", { class: "input", id: "typed-reason", maxlength: 300 }))),
    button({ "data-open-typed": true }, "Put it on the tray"),
  );
}

function parts() {
  const { screen } = about;
  const { state, app } = screen;
  const { stock } = app.day ?? {};
  const tray = new Set(screen.units.map(({ pk }) => pk));
  const used = usedUnits(screen);
  const opened = stock ? openedOf(stock, state.patient, tray) : [];
  const shelves = (stock?.products ?? []).map((product) => [product, sealedOf(product, used)]).filter(([, rows]) => rows.length);
  const kinds = [...new Set([...(opened.length ? [OPENED] : []), ...shelves.map(([product]) => product.kind_label)])];
  shelves.sort(([one], [other]) => kinds.indexOf(one.kind_label) - kinds.indexOf(other.kind_label));
  return {
    title: ["Open a unit for ", node("bdi", {}, state.patient.name)],
    head: [alertList(state.patient.alerts), shelves.length > FEW ? ways(kinds) : null],
    body: [
      opened.length ? shelf(OPENED, [], opened.map(openedRow), "opened", OPENED) : null,
      shelves.map(([product, rows]) => shelf(product.name, [product.kind_label, product.lidocaine && `Lidocaine ${product.lidocaine}`].filter(Boolean), rows.map((row, index) => sealedRow(row, index === 0)), `product-${product.pk}`, product.kind_label)),
      !opened.length && !shelves.length ? empty("No stock is known on this tablet", "Ask the practice owner to receive a lot, or come in contact with the clinic once.", "stock") : null,
      byLabel(),
    ],
  };
}

// {unit, product, label} of a unit the tablet knows.
function known(app, test) {
  const { products, opened } = app.day?.stock ?? { products: [], opened: [] };
  for (const product of products) {
    for (const lot of product.lots) {
      const unit = lot.units.find(test);
      if (unit) {
        return { unit, product, isSealed: true, against: lot.against };
      }
    }
  }
  const unit = opened.find(test);
  return unit ? { unit, product: null, isSealed: false, against: unit.against ?? [] } : null;
}

function put({ unit }, { diluent_ul = null, no_diluent = false, deviation = "" } = {}) {
  const { screen } = about;
  sheetNamed("opening").close();
  // Used elsewhere meanwhile it leaves the day's stock: what it is has to be known all the same.
  const hint = { unit: stockOf(screen.app.day).get(unit.pk) };
  screen.app.act("open", screen.sessionKey, { unit: unit.pk, diluent_ul, no_diluent, deviation }, { hint });
  screen.chooseUnit(unit.pk);
  screen.say(`Unit ${unit.label}, ${screen.unit?.product_name ?? ""}, is on the tray.`);
}

// A toxin about to be opened: how much of it is in a drop depends on what it is made up with.
function open(found, deviation = "") {
  if (!found.isSealed || !found.product.asks_diluent) {
    put(found, { deviation });
    return;
  }
  askAmount({
    title: `What is ${found.unit.label} made up with?`, measure: "volume",
    help: `The units in 0.1 mL depend on it.${found.product.diluents?.length ? " Above the keys: what it was made up with here before." : ""}`,
    steps: found.product.diluents,
    act: (diluent_ul) => put(found, { diluent_ul, deviation }),
    extra: { label: "Ready to use, or not known", act: () => put(found, { no_diluent: true, deviation }) },
  });
}

// "u12" is U000012, as on the sticker.
function labelOf(text) {
  const digits = text.trim().toUpperCase().replace(/^U/, "");
  return /^\d+$/.test(digits) ? `U${String(Number(digits)).padStart(6, "0")}` : text.trim().toUpperCase();
}

function openTyped(sheet) {
  const label = labelOf(sheet.querySelector("#typed-label").value);
  const reason = sheet.querySelector("#typed-reason").value.trim();
  const found = known(about.screen.app, (unit) => unit.label === label);
  let trouble = "";
  if (!found) {
    trouble = label ? `This tablet knows no unit of stock with the label “${label}”.` : "Type the label, such as U000012.";
  } else if (about.screen.units.some(({ pk }) => pk === found.unit.pk)) {
    trouble = `Unit ${label} is on the tray already.`;
  } else if (found.against.length && !reason) {
    trouble = `${found.against.join(" ")} If it was used all the same, write down why.`;
  }
  if (trouble) {
    about.trouble = trouble;
    fillSheet(sheet, parts());
  } else {
    open(found, found.against.length ? reason : "");
  }
}

export function attachOpening(screen) {
  const sheet = sheetNamed("opening");
  const byPk = (pk) => known(screen.app, (unit) => unit.pk === Number(pk));
  on(document.body, "click", "data-open-unit", () => {
    about = { screen, trouble: "" };
    openSheet(sheet, parts());
  });
  on(sheet, "click", "data-open-now", ({ dataset }) => open(byPk(dataset.openNow)));
  on(sheet, "click", "data-open-typed", () => openTyped(sheet));
  on(sheet, "click", "data-to-shelf", ({ dataset }) => goTo(sheet, dataset.toShelf));
  on(sheet, "click", "data-open-used", ({ dataset: { openUsed: pk } }) => {
    const field = sheet.querySelector(`[data-used-reason="${pk}"]`);
    if (field.value.trim()) {
      open(byPk(pk), field.value.trim());
    } else {
      field.focus();
      screen.say("Write down why it was used.");
    }
  });
}

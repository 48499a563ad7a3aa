// Units of stock in use: which one is drawn from, what is left in it, waste, putting one back.

import { formatAmount, plain } from "./amounts.js";
import { shortDate, shortTime } from "./dates.js";
import { bdi, button, drawOnChange, icon, node, on, patch, svgNode } from "./dom.js";
import { heldWords } from "./holds.js";
import { heldMark } from "./quarantine.js";
import { openSheet, sheetNamed } from "./sheet.js";
import { showWaste } from "./waste.js";

// From here on cards say less, so that they stay in view without scrolling.
const MANY = 3;

function bar({ content, drawn, wasted }) {
  const part = (name, x, width) => svgNode("rect", { class: `gauge__${name}`, x, y: 0, width: Math.max(0, width), height: 10 });
  return svgNode("svg", { class: "unit__bar", viewBox: `0 0 ${content || 1} 10`, preserveAspectRatio: "none", "aria-hidden": "true" },
    part("drawn", 0, drawn), part("wasted", drawn, wasted));
}

// "4 units": what 0.1 mL of a made-up vial holds; planning.dilution has the source.
export function strength({ content, diluent_ul: diluent, measure }) {
  if (!diluent || measure !== "dose") {
    return "";
  }
  const exact = (content * 100) / diluent;
  return `${Number.isInteger(exact) ? "" : "about "}${formatAmount(Math.round(exact), measure)}`;
}

// "0.1 mL": what a dose takes of a made-up vial, to a line every 0.01 mL; of two as close the lower one, as at_marking in
// planning/dilution.py.
export function drawFor(dose, { content, diluent_ul: diluent }) {
  return Math.ceil((2 * dose * diluent - 10 * content) / (20 * content)) * 10;
}

// Doses in common use, in hundredths of a unit: planning.dilution_table has the source.
const COMMON_DOSES = [100, 200, 250, 400, 500, 1000, 2000];

// "4 units  0.1 mL", or what the nearest line holds where none holds the dose.
function doseRow(dose, unit) {
  const volume = drawFor(dose, unit);
  const held = Math.round((volume * unit.content) / unit.diluent_ul);
  const amount = node("b", { class: "num" }, formatAmount(volume, "volume"));
  return node("li", {}, node("span", {}, formatAmount(dose, "dose"), held === dose ? null : node("span", { class: "quiet small" }, ` line holds ${plain(held, "dose")}`)), " ", amount);
}

function dosesOf(unit) {
  const rows = COMMON_DOSES.filter((dose) => dose <= unit.left);
  if (!unit.diluent_ul || unit.measure !== "dose" || !rows.length) {
    return null;
  }
  return node("section", {}, node("h3", {}, "To draw, on a syringe with a line every 0.01 mL"),
    node("ul", { class: "doses" }, rows.map((dose) => doseRow(dose, unit))));
}

// "made up 3 h 20 min ago"
export function sinceWords(openedAt, now = Date.now()) {
  const minutes = Math.max(0, Math.floor((now - Date.parse(openedAt)) / 60000));
  return minutes < 60 ? `${minutes} min ago` : minutes < 2880 ? `${Math.floor(minutes / 60)} h ${minutes % 60} min ago` : `${Math.floor(minutes / 1440)} days ago`;
}

// "2.5 mL sodium chloride 0.9 %", or "2.5 mL diluent" where nobody said which.
function madeUpWith({ diluent, diluent_ul: volume }, screen) {
  const name = screen.word("diluent", diluent) || "diluent";
  return `${formatAmount(volume, "volume")} ${name.charAt(0).toLowerCase()}${name.slice(1)}`;
}

function madeUp(unit, screen) {
  const holds = strength(unit);
  const about = [];
  if (unit.shared) {
    about.push(node("span", { class: "unit__shared" }, icon("caution"), "Shared vial", node("span", { class: "unit__rule" }, ": new needle and syringe for each draw")));
  }
  if (unit.diluent_ul) {
    const diluent = madeUpWith(unit, screen);
    about.push(node("span", {}, holds ? node("span", { class: "unit__word" }, diluent, ": ") : diluent, holds ? [node("b", { class: "num" }, holds), " in 0.1 mL"] : null));
  } else if (unit.kind === "toxin") {
    about.push(node("span", {}, node("b", {}, "Diluent not recorded")));
  }
  if (about.length || unit.use_before) {
    const verb = unit.diluent_ul ? "Made up" : "Opened";
    about.push(node("span", { class: "unit__word" }, `${verb} `, node("span", { class: "num" }, shortTime(unit.opened_at)), unit.opened_by ? [" by ", unit.opened_by === screen.app.user?.name ? "you" : bdi(unit.opened_by)] : null));
  }
  if (unit.use_before) {
    about.push(node("span", {}, "Use before ", node("b", { class: "num" }, shortTime(unit.use_before))));
  }
  return about.length ? node("span", { class: "unit__made" }, about) : null;
}

// "0.2 mL more than it holds: decide below", until the amounts fit again.
function overdrawn({ over, measure, isToDecide }) {
  const how = isToDecide ? "decide below" : "check the amounts";
  return node("span", { class: "unit__against unit__over", "data-over": over }, icon("stop"), ` ${formatAmount(over, measure)} more than it holds: ${how}`);
}

// Its hours after opening are over, by the tablet's clock.
const isPast = ({ use_before: until }) => Boolean(until) && Date.parse(until) < Date.now();

function face(unit, screen) {
  const number = (amount) => node("b", { class: "num" }, plain(amount, unit.measure));
  return node(
    "span", { class: "unit__face" },
    node("span", { class: "unit__product" }, unit.product_name),
    node("span", { class: "unit__lot" }, node("span", {}, unit.label), " ", node("span", {}, "Lot ", node("b", {}, unit.lot))),
    node("span", { class: "unit__left" }, node("strong", { class: "num" }, formatAmount(unit.left, unit.measure)), node("span", { class: "unit__word" }, " left"), ` of ${plain(unit.content, unit.measure)}`),
    node("span", { class: "unit__numbers" }, node("span", {}, "drawn ", number(unit.drawn)), " ", node("span", {}, "waste ", number(unit.wasted))),
    bar(unit), heldMark(unit), isPast(unit) ? node("span", { class: "unit__against", "data-past": true }, icon("stop"), ` Past its time since ${shortTime(unit.use_before)}: open another`) : null, unit.over ? overdrawn(unit) : null, madeUp(unit, screen),
    unit.deviation ? node("span", { class: "unit__against" }, icon("stop"), " Used against the rules") : null,
    unit.where === "attention" ? node("span", { class: "unit__against" }, icon("stop"), " Needs attention") : null,
  );
}

// With whether something from it waits for a decision.
function marked(unit, { points }) {
  const isToDecide = [unit, ...points.filter(({ unit: pk }) => pk === unit.pk)].some(({ where }) => where === "attention");
  return { ...unit, isToDecide };
}

function card(unit, chosen, screen) {
  const { isOpen } = screen;
  const radio = node("input", { type: "radio", name: "tray-unit", value: unit.pk, "data-unit": true, checked: chosen, disabled: !isOpen });
  return node(
    "li", { class: `unit${unit.deviation || unit.held || isPast(unit) ? " unit--deviation" : ""}${unit.left <= 0 ? " unit--empty" : ""}`, "data-key": `unit-${unit.pk}`, "data-unit-card": unit.pk },
    node("label", { class: "unit__choice" }, radio, face(unit, screen)),
    isOpen ? button({ class: "unit__more", "data-unit-acts": unit.pk, "aria-label": `More for unit ${unit.label}` }, node("span", { "aria-hidden": "true" }, "⋯")) : null,
  );
}

function showActs(screen, unit) {
  const points = screen.points.filter(({ unit: pk }) => pk === unit.pk).length;
  const amount = (value) => formatAmount(value, unit.measure);
  const canGoBack = unit.mine_to_put_back !== false && !points && !unit.wasted;
  openSheet(sheetNamed("unit"), {
    title: unit.label,
    head: [
      node("p", { class: "quiet" }, `${unit.product_name}, lot ${unit.lot}, expires ${shortDate(unit.expires_on)}; ${amount(unit.drawn)} drawn, ${amount(unit.wasted)} wasted`),
      madeUp(unit, screen),
      unit.diluent_ul ? node("p", { class: "quiet" }, `Made up ${sinceWords(unit.opened_at)}; ${amount(unit.left)} left.`) : null,
    ],
    body: node(
      "div", { class: "sheet__options" }, dosesOf(unit),
      unit.held ? node("p", { class: "candidate__against" }, icon("stop"), heldWords(unit.held)) : null,
      unit.left > 0 ? button({ class: "option", "data-waste": unit.pk }, icon("erase"), " Record waste") : null,
      canGoBack ? button({ class: "option", "data-put-back": unit.pk }, icon("undo"), " Put back unused") : null,
      !canGoBack && points ? node("p", { class: "quiet" }, "It was used, so it stays on the tray.") : null,
    ),
  });
}

// The card says it in the minute in which a unit's time is over, touched or not.
const LOOK_AGAIN_MS = 30_000;

export function attachTray(screen, root) {
  let past = 0;
  setInterval(() => {
    const now = screen.units.filter(isPast).length;
    if (now !== past) {
      past = now;
      screen.changed();
    }
  }, LOOK_AGAIN_MS);
  drawOnChange(screen, () => {
    const { units, isOpen } = screen;
    const chosen = screen.settings.unit;
    patch(
      root,
      node("ul", { class: `tray__cards${units.length >= MANY ? " tray__cards--many" : ""}` }, units.map((unit) => card(marked(unit, screen), unit.pk === chosen, screen))),
      isOpen ? button({ class: "button tray__open", "data-open-unit": true }, icon("syringe"), node("span", {}, "Open a unit")) : null,
    );
  });
  const unitOf = (pk) => screen.units.find((unit) => String(unit.pk) === pk);
  root.addEventListener("change", ({ target }) => target.matches("[data-unit]") && screen.chooseUnit(Number(target.value)));
  on(root, "click", "data-unit-acts", (pressed) => showActs(screen, unitOf(pressed.dataset.unitActs)));
  const sheet = sheetNamed("unit");
  on(sheet, "click", "data-waste", (pressed) => {
    sheet.close();
    showWaste(screen, unitOf(pressed.dataset.waste));
  });
  on(sheet, "click", "data-put-back", (pressed) => {
    const unit = unitOf(pressed.dataset.putBack);
    sheet.close();
    screen.act("put_back", { unit: unit.pk });
    screen.say(`Unit ${unit.label} is off the tray.`);
  });
}

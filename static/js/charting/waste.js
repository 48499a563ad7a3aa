// What was thrown away from a unit on the tray while the session runs.

import { AmountError, formatAmount, parseAmount } from "./amounts.js";
import { button, node, on } from "./dom.js";
import { readoutOf, keysFor, pressKey } from "./keypad.js";
import { problem } from "./say.js";
import { fillSheet, openSheet, sheetNamed } from "./sheet.js";

// Offered to be touched; any other reason can be typed. Common practice, no source.
const REASONS = ["Priming the needle", "Dropped or spilled", "Needle or cannula changed", "Blocked needle"];

let about = null;

function parts() {
  const { unit, text, reason, trouble } = about;
  const chips = REASONS.map((each) => button({ class: "chip", "data-reason": each, "aria-pressed": String(reason === each) }, each));
  return {
    title: "Record waste",
    head: [node("p", { class: "quiet" }, `${unit.label}, ${unit.product_name}: ${formatAmount(unit.left, unit.measure)} left`)],
    body: [
      problem(trouble),
      readoutOf(text, unit.measure), keysFor(),
      node("p", { class: "field__label" }, "Why"),
      node("div", { class: "chips", role: "group", "aria-label": "Common reasons" }, chips),
      node("label", { class: "field" }, node("span", { class: "field__label" }, "Another reason"),
        node("input", { class: "input", "data-waste-reason": true, maxlength: 300, value: REASONS.includes(reason) ? "" : reason })),
    ],
    foot: [button({ class: "button button--primary", "data-waste-done": true }, "Record the waste")],
  };
}

function change(values) {
  Object.assign(about, { trouble: "" }, values);
  fillSheet(sheetNamed("waste"), parts());
}

function record() {
  const { screen, unit, text, reason } = about;
  try {
    const amount = parseAmount(text, unit.measure);
    if (!reason.trim()) {
      throw new AmountError("Say why it was wasted.");
    }
    if (amount > unit.left) {
      throw new AmountError(`${formatAmount(unit.left, unit.measure)} remain in unit ${unit.label}, so ${formatAmount(amount, unit.measure)} cannot be wasted.`);
    }
    screen.act("waste", { unit: unit.pk, amount, reason: reason.trim() });
    sheetNamed("waste").close();
    screen.sayStored(`${formatAmount(amount, unit.measure)} from unit ${unit.label} recorded as waste.`, ({ tray }) => tray.find(({ pk }) => pk === unit.pk)?.where);
  } catch (error) {
    if (!(error instanceof AmountError)) {
      throw error;
    }
    change({ trouble: error.message });
  }
}

export function showWaste(screen, unit) {
  const sheet = sheetNamed("waste");
  if (!about) {
    on(sheet, "click", "data-digit", (key) => change({ text: pressKey(about.text, key.dataset.digit) }));
    on(sheet, "click", "data-reason", (chip) => change({ reason: chip.dataset.reason }));
    on(sheet, "click", "data-waste-done", record);
    sheet.addEventListener("input", ({ target }) => Object.assign(about, { reason: target.value }));
    sheet.addEventListener("keydown", (event) => {
      if (!event.target.matches("input") && /^[0-9.,]$|^Backspace$/.test(event.key)) {
        change({ text: pressKey(about.text, event.key) });
      }
    });
  }
  about = { screen, unit, text: "", reason: "", trouble: "" };
  openSheet(sheet, parts());
}

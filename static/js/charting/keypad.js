// Digits for gloved fingers, in place of the system's keyboard, which would cover the face. A keyboard at hand works too.

import { AmountError, formatAmount, parseAmount, plain as plainAmount } from "./amounts.js";
import { button, icon, node, on } from "./dom.js";
import { problem } from "./say.js";
import { fillSheet, openSheet, sheetNamed } from "./sheet.js";

const KEYS = ["1", "2", "3", "4", "5", "6", "7", "8", "9", ".", "0", "Backspace"];
const LONGEST = 9;
const WORDS = { volume: "mL", dose: "units", length: "mm", percent: "%" };

// Lengths are kept in tenths of a millimetre.
function parseLength(text) {
  const match = text.match(/^([0-9]{1,4})(?:\.([0-9])?)?$/);
  if (!match) {
    throw new AmountError("Type millimetres with at most one digit after the point, such as 62.5.");
  }
  return Number(match[1]) * 10 + Number(match[2] ?? 0);
}

// A strength in micrograms per millilitre: 1 % is 10,000.
function parsePercent(text) {
  const match = text.match(/^([0-9]{1,3})(?:\.([0-9]{0,2}))?$/);
  const strength = match ? Number(match[1]) * 10000 + Number((match[2] ?? "").padEnd(2, "0")) * 100 : 0;
  if (strength <= 0 || strength > 1000000) {
    throw new AmountError("Type per cent with at most two digits after the point, such as 0.5 or 2.");
  }
  return strength;
}

const PARSE = { length: parseLength, percent: parsePercent };
const PLAIN = { length: (amount) => String(amount / 10), percent: (amount) => String(amount / 10000) };
const parse = (text, measure) => (PARSE[measure] ? PARSE[measure](text) : parseAmount(text, measure));
const plain = (amount, measure) => (PLAIN[measure] ? PLAIN[measure](amount) : plainAmount(amount, measure));

// The unit after a number as it is typed.
export function wordOf(measure, number) {
  return measure === "dose" && number === "1" ? "unit" : WORDS[measure];
}

// The text after a key: one point, no leading zeros before a digit, never longer than the readout.
export function pressKey(text, key) {
  if (key === "Backspace") {
    return text.slice(0, -1);
  }
  if (key === "." || key === ",") {
    return text.includes(".") ? text : `${text || "0"}.`;
  }
  const grown = text === "0" ? key : text + key;
  return grown.length > LONGEST ? text : grown;
}

export function readoutOf(text, measure) {
  return node("output", { class: "readout", "aria-live": "polite", "data-readout": true },
    node("span", { class: "readout__number" }, text || "–"), " ", node("span", { class: "readout__unit" }, wordOf(measure, text)));
}

// Without the point for a code.
export function keysFor({ point = true } = {}) {
  const labels = { ".": "Point", Backspace: "Delete the last digit" };
  return node("div", { class: "keypad" }, KEYS.map((key) => (key === "." && !point ? node("span", {}) : button(
    { class: "keypad__key", "data-digit": key, "aria-label": labels[key] ?? null }, key === "Backspace" ? icon("erase") : key,
  ))));
}

let pad = null;

// A second question of one touch: {label, options: [[key, word]...], chosen, missing: what to say where nothing is chosen}.
function choiceOf({ label, options, chosen }) {
  return node("div", {},
    node("p", { class: "field__label" }, label),
    node("div", { class: "chips", role: "group", "aria-label": label },
      options.map(([key, word]) => button({ class: "chip", "data-pad-choice": key, "aria-pressed": String(key === chosen) }, word))));
}

// An amount that is likely a slip: one touch says that it is right, one takes what was probably meant.
function questionParts({ title, measure, doubted: { amount, text, instead } }) {
  const shown = (value) => formatAmount(value, measure);
  return {
    title,
    body: [
      problem(text),
      node("div", { class: "keypad__question" },
        instead ? button({ class: "button button--wide", "data-pad-instead": instead }, `Take ${shown(instead)}`) : null,
        button({ class: "button button--wide", "data-pad-again": true }, "Change"),
        button({ class: "button button--wide", "data-pad-sure": amount }, `Keep ${shown(amount)}`)),
    ],
  };
}

function parts() {
  if (pad.doubted) {
    return questionParts(pad);
  }
  const { title, text, measure, steps, extra, trouble, help, choice } = pad;
  const chips = (steps ?? []).map((amount) => button({ class: "chip", "data-pad-step": amount }, plain(amount, measure)));
  return {
    title,
    body: [
      problem(trouble), help ? node("p", { class: "quiet" }, help) : null, readoutOf(text, measure),
      chips.length ? node("div", { class: "chips", role: "group", "aria-label": "Common amounts" }, chips) : null,
      keysFor(), choice ? choiceOf(choice) : null,
      node("div", { class: "keypad__end" },
        extra ? button({ "data-pad-extra": true }, extra.label) : null,
        button({ class: "button button--primary button--wide", "data-pad-done": true }, "Done")),
    ],
  };
}

function change(values) {
  Object.assign(pad, { trouble: "", fresh: false }, values);
  fillSheet(sheetNamed("keypad"), parts());
}

// Asks about an amount before it is handed on. The focus never lies on what confirms it: an Enter too many must not.
function ask(amount, doubt) {
  change({ doubted: { amount, ...doubt } });
  sheetNamed("keypad").querySelector("[data-pad-instead], [data-pad-again]").focus();
}

// Leaves the pad and hands the amount on; `act` may say what is wrong with it. `confirmed` is what was asked about it.
function finish(amount, confirmed = "") {
  const trouble = pad.choice && !pad.choice.chosen ? pad.choice.missing : pad.act(amount, pad.choice?.chosen, confirmed);
  if (trouble) {
    change({ trouble });
  } else {
    sheetNamed("keypad").close();
  }
}

function done() {
  try {
    const amount = parse(pad.text, pad.measure);
    const doubt = pad.choice && !pad.choice.chosen ? null : (pad.doubt?.(amount) ?? null);
    if (doubt) {
      ask(amount, doubt);
    } else {
      finish(amount);
    }
  } catch (error) {
    if (!(error instanceof AmountError)) {
      throw error;
    }
    change({ trouble: error.message });
  }
}

// The first digit takes the place of the amount that was there.
function press(key) {
  change({ text: pressKey(pad.fresh && key !== "Backspace" ? "" : pad.text, key) });
}

function listen(sheet) {
  on(sheet, "click", "data-digit", (key) => press(key.dataset.digit));
  // One touch, unless there is still something to choose.
  on(sheet, "click", "data-pad-step", ({ dataset: { padStep } }) => (pad.choice && !pad.choice.chosen ? change({ text: plain(Number(padStep), pad.measure), fresh: true }) : finish(Number(padStep))));
  on(sheet, "click", "data-pad-choice", ({ dataset: { padChoice } }) => change({ choice: { ...pad.choice, chosen: padChoice }, fresh: pad.fresh }));
  on(sheet, "click", "data-pad-sure", ({ dataset: { padSure } }) => finish(Number(padSure), pad.doubted.text));
  on(sheet, "click", "data-pad-instead", ({ dataset: { padInstead } }) => finish(Number(padInstead)));
  on(sheet, "click", "data-pad-again", () => change({ doubted: null, fresh: true }));
  on(sheet, "click", "data-pad-extra", () => {
    sheet.close();
    pad.extra.act();
  });
  on(sheet, "click", "data-pad-done", done);
  sheet.addEventListener("keydown", (event) => {
    if (pad.doubted) {
      return;
    }
    if (/^[0-9.,]$|^Backspace$/.test(event.key)) {
      event.preventDefault();
      press(event.key);
    } else if (event.key === "Enter" && !event.target.matches("button:not([data-digit])")) {
      event.preventDefault();
      done();
    }
  });
}

// {title, measure, amount (or null), steps, help, act(amount, choice, confirmed) -> trouble or nothing, extra: {label, act},
// choice (as above), typed: first key, doubt(amount) -> {text, instead} or null}. A step is the clinic's own: nobody doubts it.
export function askAmount({ amount = null, typed = "", ...about }) {
  const sheet = sheetNamed("keypad");
  if (!pad) {
    listen(sheet);
  }
  const text = typed ? pressKey("", typed) : amount === null ? "" : plain(amount, about.measure);
  pad = { trouble: "", doubted: null, fresh: !typed, text, ...about };
  openSheet(sheet, parts());
  sheet.querySelector("[data-pad-done]").focus();
}

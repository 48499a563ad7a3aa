// Signing, with or without network: what was given, what became of each remainder, and the signer's own code.

import { formatAmount } from "./amounts.js";
import { pluralOf, shortTime } from "./dates.js";
import { button, icon, node, on } from "./dom.js";
import { heldWords } from "./holds.js";
import { keysFor } from "./keypad.js";
import { newKey } from "./ids.js";
import { problem } from "./say.js";
import { fillSheet, openSheet, sheetNamed } from "./sheet.js";
import { alertList, personParts, standing } from "./strip.js";
import { totalsParts } from "./sums.js";
import { attentionOf } from "./waiting.js";
import { hasCode, signatureProof, triesLeft } from "../tablet/code.js";

const LABELS = { wasted: "Wasted", kept: "Kept for the same patient", shared: "Stays in use" };
const SIGNED = {
  good: "The signature is stored in the clinic.",
  caution: "Signed, stored on this tablet; it is sent when the clinic can be reached.",
  storing: "Signed, being stored on this tablet.",
  stop: "Signed. Keep this page open: something is not stored, or has to be decided.",
};
let about = null;

// As services.signing.remainder_choices: nothing to choose when a unit is empty. To keep one in quarantine comes last.
function remainderChoices(unit, patient, stock) {
  if (unit.left <= 0) {
    return [];
  }
  if (unit.shared) {
    return unit.held ? ["wasted", "shared"] : ["shared", "wasted"];
  }
  const opened = stock?.opened.find(({ pk }) => pk === unit.pk);
  const isOthers = opened && opened.patient !== null && opened.patient !== patient.pk;
  return isOthers ? ["wasted"] : ["wasted", "kept"];
}

function remainderField(unit, choices, chosen) {
  const options = choices.map((key) => node(
    "label", { class: "choice" },
    node("input", { type: "radio", name: `remainder-${unit.pk}`, value: key, "data-remainder": unit.pk, checked: chosen === key }),
    node("span", { class: "choice__face" }, LABELS[key]),
  ));
  return node(
    "fieldset", { class: "field", "data-key": `left-${unit.pk}` },
    node("legend", { class: "field__label" }, `${formatAmount(unit.left, unit.measure)} left in unit ${unit.label}, ${unit.product_name}`),
    unit.held ? node("p", { class: "unit__against", "data-remainder-held": unit.pk }, icon("stop"), ` ${heldWords(unit.held)} If it is not thrown away, keep it apart.`) : null,
    node("div", { class: "choices" }, options),
  );
}

function remainders(screen) {
  const fields = screen.units
    .map((unit) => [unit, remainderChoices(unit, screen.state.patient, screen.app.day?.stock)])
    .filter(([, choices]) => choices.length)
    .map(([unit, choices]) => remainderField(unit, choices, about.remainders[unit.pk]));
  const none = screen.units.length ? "Nothing is left in the units: nothing to account for." : "No unit was opened.";
  return fields.length ? fields : [node("p", { class: "quiet" }, none)];
}

function codePad() {
  const { code } = about;
  return [
    node("p", { class: "field__label" }, "Your code on this tablet"),
    node("output", { class: "readout", "aria-label": `${code.length} digits typed` }, "•".repeat(code.length) || "–"),
    keysFor({ point: false }),
  ];
}

// The page that takes the password, told what was said of the remainders here.
function signingPage({ state }) {
  const said = new URLSearchParams(Object.entries(about.remainders).map(([unit, what]) => [`unit_${unit}`, what])).toString();
  return `/sessions/${state.pk}/sign/${said && `?${said}`}`;
}

function withoutCode(screen) {
  const { app, state } = screen;
  if (app.contact.state === "ok" && state.pk) {
    return [
      node("p", {}, "You have no code on this tablet yet. Set one in the menu under your name, or sign with your password:"),
      node("a", { class: "button button--primary", href: signingPage(screen) }, icon("signature"), " Sign with the password"),
    ];
  }
  return [node("p", {}, "You have no code on this tablet, and the clinic cannot be reached to set one. The session is kept here: sign it when you are in contact again.")];
}

function unsettled(screen) {
  const open = attentionOf(screen.app, screen.sessionKey).length;
  return open > 0 && node("div", { class: "flag flag--stop", role: "alert" }, icon("stop"), node("div", { class: "flag__body" },
    node("p", { class: "flag__title" }, `${open} ${open === 1 ? "entry needs" : "entries need"} a decision first`),
    node("p", {}, "They are listed beside the face, each with its choices. A signature covers what is settled.")));
}

function parts() {
  const { screen, mayCode, trouble, busy } = about;
  const { state } = screen;
  const blocked = unsettled(screen);
  const noPoint = !screen.points.length && node("div", { class: "flag flag--note" }, icon("note"), node("div", { class: "flag__body" },
    node("p", { class: "flag__title" }, "No point was logged."), node("p", {}, "Sign only if nothing was injected. No review is scheduled.")));
  const canSign = mayCode && !blocked;
  return {
    title: "Sign the session",
    head: [node("p", {}, node("bdi", {}, state.patient.name), " ", personParts(state.patient)), alertList(state.patient.alerts)],
    body: node(
      "div", { class: "signing" },
      node("div", { class: "signing__what" },
        screen.points.length ? node("section", { class: "sums", "aria-label": "Totals" }, totalsParts(state.totals)) : null, noPoint,
        state.review ? node("p", { class: "more__review" }, icon("reviews"), node("span", {}, state.review)) : null,
        remainders(screen)),
      node("div", { class: "signing__who" }, blocked || (mayCode ? codePad() : withoutCode(screen)), problem(trouble),
        canSign ? button({ class: "button button--primary button--wide", "data-sign-now": true, "aria-busy": busy ? "true" : null }, icon("signature"), " Sign as ", node("bdi", {}, screen.app.user.name)) : null,
        node("p", { class: "quiet small" }, "After this nothing in it changes; what is missing is added as an addendum.")),
    ),
  };
}

function redraw(values = {}) {
  Object.assign(about, values);
  fillSheet(sheetNamed("signing"), parts());
}

function missingRemainder(screen) {
  return screen.units.find((unit) => {
    const choices = remainderChoices(unit, screen.state.patient, screen.app.day?.stock);
    return choices.length && !choices.includes(about.remainders[unit.pk]);
  });
}

// The sentence that stops the signature before the code is tried, or nothing.
function refusal(screen) {
  const unit = missingRemainder(screen);
  if (unit) {
    return `Say what became of the rest of unit ${unit.label}.`;
  }
  return about.code ? "" : "Type your code: it signs the session under your name.";
}

async function wrongCode() {
  const left = await triesLeft();
  return left ? `That is not your code on this tablet. ${pluralOf(left, "try is", "tries are")} left.`
    : "That was the last try. Sign in again with your password; the session is kept here.";
}

async function sign() {
  const { screen } = about;
  const trouble = about.busy ? "" : refusal(screen);
  if (about.busy || trouble) {
    redraw({ trouble });
    return;
  }
  redraw({ busy: true, trouble: "" });
  const id = newKey();
  const proof = await signatureProof(about.code, id, screen.sessionKey);
  if (!proof) {
    redraw({ busy: false, code: "", trouble: await wrongCode() });
    return;
  }
  const left = screen.units.filter((unit) => unit.left > 0);
  const remainders = Object.fromEntries(left.map(({ pk }) => [pk, about.remainders[pk]]));
  screen.app.act("sign", screen.sessionKey, { remainders, proof }, { id });
  screen.sayStored("Signed.", (state) => state.where);
  showSigned(screen);
}

// How the signature itself is kept: the whole session's standing, and "storing" until the disk has it.
function standingOf({ app, sessionKey }) {
  const isStoring = app.waiting.some(({ op, state }) => op.session === sessionKey && state === "storing");
  return isStoring ? "storing" : standing(app, sessionKey).level;
}

function showSigned(screen) {
  const { signed } = screen.state;
  const sheet = sheetNamed("signing");
  about = null;
  const level = standingOf(screen);
  openSheet(sheet, {
    title: "Signed",
    body: node("div", { class: "signed", "data-signed": true },
      node("p", {}, icon("state-signed"), " ", node("bdi", {}, signed?.name ?? ""), signed ? `, ${shortTime(signed.at)}` : ""),
      node("p", {}, SIGNED[level] ?? SIGNED.stop),
      signed?.url ? node("a", { class: "button button--primary", href: signed.url }, icon("document"), " Open the record and its note") : null),
    foot: [node("a", { class: "button", href: "#" }, "The day’s list")],
  });
}

async function start(screen) {
  about = { screen, remainders: {}, code: "", trouble: "", busy: false, mayCode: false };
  for (const unit of screen.units) {
    const choices = remainderChoices(unit, screen.state.patient, screen.app.day?.stock);
    if (choices.length === 1 || choices[0] === "shared") {
      [about.remainders[unit.pk]] = choices;
    }
  }
  openSheet(sheetNamed("signing"), parts());
  redraw({ mayCode: await hasCode() });
}

export function attachSigning(screen) {
  const sheet = sheetNamed("signing");
  on(document.body, "click", "data-sign", () => start(screen));
  on(sheet, "click", "data-digit", ({ dataset: { digit } }) => redraw({ code: digit === "Backspace" ? about.code.slice(0, -1) : about.code + digit, trouble: "" }));
  on(sheet, "click", "data-sign-now", sign);
  sheet.addEventListener("change", ({ target }) => {
    about.remainders[target.dataset.remainder] = target.value;
    redraw({ trouble: "" });
  });
  sheet.addEventListener("keydown", ({ key, target }) => {
    if (about && !target.matches("input") && /^[0-9]$|^Backspace$/.test(key)) {
      redraw({ code: key === "Backspace" ? about.code.slice(0, -1) : about.code + key, trouble: "" });
    } else if (about && key === "Enter" && about.code && !target.matches("button")) {
      sign();
    }
  });
  screen.addEventListener("change", () => sheet.open && (about ? redraw() : sheet.querySelector("[data-signed]") && screen.state?.signed && showSigned(screen)));
}


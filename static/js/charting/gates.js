// What is to be settled before a session is started on this tablet: a stop shuts the start until the injector has decided
// in writing. Known as the clinic told it last; what was done all the same is written down with its reason.

import { shortTime } from "./dates.js";
import { button, node, on } from "./dom.js";
import { flag } from "./flags.js";
import { newKey } from "./ids.js";
import { goTo } from "./route.js";
import { problem } from "./say.js";
import { fillSheet, openSheet, sheetNamed } from "./sheet.js";

const LONGEST = 500;
const GATE_FIELDS = ["title", "text", "source", "can_be_decided"];

// {screen, stops, isDone, go(): the session's key, trouble}
let about = null;

// When the clinic was heard last, where that may be out of date.
export function heard({ app }) {
  const at = app.day?.now ? shortTime(app.day.now) : "an unknown time";
  return app.contact.state === "ok" ? `As the clinic told it at ${at}.`
    : `No contact with the clinic: this is what the tablet heard at ${at}. It may be otherwise by now.`;
}

// Stops of a session that nobody has given a reason for yet: the latest word on each gate holds.
export function unsettledOf({ decisions }) {
  const latest = new Map(decisions.map((row) => [row.gate, row]));
  return [...latest.values()].filter(({ how }) => how === "stood");
}

function parts() {
  const { screen, stops, isDone, trouble } = about;
  const isShut = !isDone && stops.some(({ can_be_decided: can }) => !can);
  const rule = isShut ? "Nobody can decide to go on. Only if it has been done already, write down why."
    : isDone ? "Write down why it was done all the same. Page and note show it as a flag."
      : "Settle it first, or write down why you go on. Page and note show it as a flag.";
  const label = isShut || isDone ? "It was done: write it down" : "I have decided: start the session";
  return {
    title: isDone ? "Started against a stop" : "Stop before you start",
    head: [node("p", { class: "quiet" }, heard(screen))],
    body: node("div", { class: "gates" },
      stops.map((gate) => flag({ level: "stop", label: "Stop", ...gate })),
      node("p", {}, rule), problem(trouble),
      node("label", { class: "field" }, node("span", { class: "field__label" }, "Reason, in your words"),
        node("textarea", { class: "input", rows: 2, maxlength: LONGEST, dir: "auto", "data-gate-reason": true }))),
    foot: [
      button({ class: "button", "data-dialog-close": true }, isDone ? "Later" : "Do not start"),
      button({ class: `button ${isShut ? "button--danger" : "button--primary"}`, "data-gate-go": true }, label),
    ],
  };
}

function ask(values) {
  about = { trouble: "", ...values };
  const sheet = sheetNamed("gates");
  openSheet(sheet, parts());
  sheet.querySelector("[data-gate-reason]").value = "";
}

function decide() {
  const sheet = sheetNamed("gates");
  const reason = sheet.querySelector("[data-gate-reason]").value.trim();
  const { screen, stops, isDone, go } = about;
  if (!reason) {
    about.trouble = "Write down the reason first.";
    fillSheet(sheet, parts());
    sheet.querySelector("[data-gate-reason]").focus();
    return;
  }
  sheet.close();
  const session = go();
  const shut = stops.some(({ can_be_decided: can }) => !can);
  for (const stop of stops) {
    const said = Object.fromEntries(GATE_FIELDS.map((name) => [name, stop[name]]));
    screen.app.act("decide", session, { key: newKey(), gate: stop.gate ?? stop.key, ...said, is_done: isDone || shut, reason });
  }
  goTo(session);
  screen.say("The reason is written down.");
}

// Start a session, or go on in the open one; a stop is asked about first.
export function begin(screen, pk, appointment) {
  const { app } = screen;
  const go = () => app.startSession(pk, appointment, "average");
  const isOpen = screen.sessions.some((state) => state.is_open && state.patient.pk === pk);
  const gates = app.day?.patients.find((patient) => patient.pk === pk)?.gates ?? [];
  const stops = gates.filter(({ level }) => level === "stop");
  if (isOpen || !stops.length) {
    goTo(go());
  } else {
    ask({ screen, stops, isDone: false, go });
  }
}

// The reason for a session that was started without it, such as one that no network reached.
export function askReason(screen) {
  ask({ screen, stops: unsettledOf(screen.state), isDone: true, go: () => screen.sessionKey });
}

export function attachGates() {
  on(sheetNamed("gates"), "click", "data-gate-go", decide);
}

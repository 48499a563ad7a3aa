// Who is treated, what to stop for, where the record stands, and the ways back and on.

import { shortDay, shortTime } from "./dates.js";
import { bdi, button, drawOnChange, icon, node, on, patch } from "./dom.js";
import { runningLog } from "./occlusion_log.js";

// The loudest first.
const LEVELS = { stop: "Stop and ask", caution: "Caution", note: "Note" };
const RANKS = Object.keys(LEVELS);

export function alertList(alerts) {
  const inOrder = [...alerts].sort((one, other) => RANKS.indexOf(one.level) - RANKS.indexOf(other.level));
  const rows = inOrder.map(({ level, label, text }) => node(
    "li", { class: `strip__alert strip__alert--${level}` }, icon(level),
    node("span", {}, node("span", { class: "strip__level" }, label || LEVELS[level]), " ", bdi(text)),
  ));
  return node("ul", { class: "strip__alerts", "aria-label": "Allergies and alerts" },
    rows.length ? rows : node("li", { class: "quiet" }, "No alert recorded"));
}

// What waits of one session: {level, words}; the words say where the record is.
export function standing(app, sessionKey) {
  const mine = app.waiting.filter(({ op }) => op.session === sessionKey);
  const of = (...states) => mine.filter(({ state }) => states.includes(state)).length;
  if (of("refused", "conflict")) {
    return { level: "stop", sign: "stop", words: `${of("refused", "conflict")} need${of("refused", "conflict") === 1 ? "s" : ""} attention` };
  }
  if (of("memory")) {
    return { level: "stop", sign: "stop", words: `${of("memory")} not stored anywhere yet` };
  }
  if (of("storing")) {
    return { level: "caution", sign: "state-due", words: "Storing on this tablet" };
  }
  if (mine.length) {
    return { level: "caution", sign: "state-due", words: `${mine.length} stored on this tablet` };
  }
  return { level: "good", sign: "check", words: "All stored in the clinic" };
}

export function personParts(patient) {
  return [
    node("span", { class: "num" }, shortDay(patient.birth_date)), " ", node("span", {}, `(${patient.age})`), " ",
    node("span", { class: "num strip__record" }, patient.record_number),
  ];
}

function who({ patient, started_at: startedAt, late_reason: late, signed }) {
  const started = startedAt ? node("span", { class: late ? "badge badge--overdue" : "quiet" }, `${late ? "Treated" : "started"} ${shortTime(startedAt)}`) : null;
  return node(
    "div", { class: "strip__who" },
    node("h1", { class: "strip__name" }, bdi(patient.name)),
    node("p", { class: "strip__facts" }, personParts(patient), " ", started, " ",
      signed ? node("span", { class: "badge badge--signed" }, icon("state-signed"), `Signed ${shortTime(signed.at)}`) : null),
  );
}

// In sight as long as the session is: one touch opens the log, or the one that runs.
function alarm({ state }) {
  if (!state.mine || state.set_aside_at) {
    return null;
  }
  const isOn = Boolean(runningLog(state));
  return button({ class: "button button--danger strip__alarm", "data-occlusion": isOn ? "running" : "", "aria-label": isOn ? "Occlusion log: running" : "Open the occlusion log" },
    icon("stop"), node("span", {}, isOn ? "Log runs" : "Occlusion"));
}

function acts(screen) {
  const { app, sessionKey, state } = screen;
  if (!screen.isOpen) {
    // Signed here and not yet known to the clinic: there is no page to go to.
    const url = state.signed ? state.signed.url : state.url;
    return url ? node("a", { class: "button", href: url }, state.signed ? "Signed record" : "Session page") : null;
  }
  const step = (name, label, can) => button({ class: "button button--icon", [`data-${name}`]: true, disabled: !can }, icon("undo", label));
  return node(
    "div", { class: "strip__acts" },
    step("undo", "Undo", app.canUndo(sessionKey)), step("redo", "Redo", app.canRedo(sessionKey)),
    button({ class: "button button--primary strip__sign", "data-sign": true }, icon("signature"), " Sign"),
  );
}

export function attachStrip(screen, root) {
  const draw = () => {
    const { state } = screen;
    if (!state) {
      return;
    }
    const { level, sign, words } = standing(screen.app, screen.sessionKey);
    patch(
      root, who(state), alertList(state.patient.alerts),
      button({ class: `stored stored--${level}`, "data-stored": level, "data-to-waiting": true }, icon(sign), node("span", {}, words)),
      alarm(screen), acts(screen),
    );
    document.title = "Charting · Clinic record";
  };
  const later = drawOnChange(screen, draw);
  screen.app.addEventListener("waiting", later);
  on(root, "click", "data-undo", () => screen.undo());
  on(root, "click", "data-redo", () => screen.redo());
  on(root, "click", "data-to-waiting", () => document.querySelector("[data-waiting]").focus());
}


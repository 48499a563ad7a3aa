// The day's list: who comes when, what is under way, and what still waits on this tablet.

import { clockTime, pluralOf, shortTime } from "./dates.js";
import { bdi, button, drawOnChange, icon, node, on, patch } from "./dom.js";
import { begin } from "./gates.js";
import { runningLog } from "./occlusion_log.js";
import { empty } from "./say.js";
import { alertList, personParts, standing } from "./strip.js";

function stateParts(app, session) {
  const { level, sign, words } = standing(app, session.key);
  const badge = session.signed ? ["signed", "Signed"] : ["draft", session.set_aside_at ? "Set aside" : "Under way"];
  return [
    node("span", { class: `badge badge--${badge[0]}` }, icon(`state-${badge[0]}`), badge[1]), " ",
    runningLog(session) ? [node("span", { class: "badge badge--overdue" }, icon("stop"), "Occlusion log runs"), " "] : null,
    level === "good" ? null : node("span", { class: `stored stored--${level}` }, icon(sign), words),
  ];
}

// What is to be settled first; an answer that raised an alert is said once, with the alerts.
function toSettle({ gates = [], alerts }) {
  const said = new Set(alerts.map(({ text }) => text));
  return gates.filter(({ title }) => !said.has(title)).map(({ level, label, title }) => ({ level, label, text: title }));
}

function row({ app, patient, session, appointment }) {
  const points = session ? session.points.filter(({ removed }) => !removed).length : 0;
  const planned = session ? session.plan : patient.plan;
  const act = session
    ? node("a", { class: `button${session.signed ? "" : " button--primary"}`, href: `#${session.key}`, "data-session-link": session.key }, session.signed ? "Look" : "Continue")
    : button({ class: "button button--primary", "data-chart": patient.pk, "data-appointment": appointment?.pk ?? "" }, "Chart");
  return node(
    "li", { class: "day__row", "data-key": session ? session.key : `${appointment?.pk ?? ""}/${patient.pk}` },
    node("p", { class: "day__time num" }, appointment ? clockTime(appointment.starts_at) : session ? shortTime(session.started_at) : ""),
    node("div", { class: "day__who" },
      node("p", { class: "day__name" }, bdi(patient.name)), node("p", { class: "strip__facts" }, personParts(patient)),
      node("p", { class: "day__what" },
        appointment ? node("span", { class: "tag" }, appointment.kind_label) : null, " ",
        session ? [stateParts(app, session), node("span", { class: "quiet" }, ` ${pluralOf(points, "point")}`)]
          : appointment ? node("span", { class: "quiet" }, appointment.state_label) : null),
      planned ? node("p", { class: "day__plan quiet" }, "Plan: ", bdi(planned.title), planned.stages > 1 ? `, stage ${planned.stage} of ${planned.stages}` : "") : null),
    alertList([...toSettle(patient), ...patient.alerts]), act,
  );
}

function section(title, rows, key) {
  return rows.length ? node("section", { class: "panel panel--flush", "data-key": key }, node("div", { class: "panel__head" }, node("h2", {}, title)), node("ul", { class: "day__list" }, rows)) : null;
}

// One that was set aside is gone, unless something of it has to be looked at.
function isListed(app, { key, set_aside_at: isAside }) {
  const asks = ({ op, state }) => op.session === key && ["refused", "conflict", "hold"].includes(state);
  return !isAside || app.waiting.some(asks);
}

function lists({ app, sessions: known }) {
  const { patients = [], appointments = [] } = app.day ?? {};
  const visit = (pk) => appointments.find(({ patient }) => patient === pk);
  const begins = ({ patient, started_at: started }) => Date.parse(visit(patient.pk)?.starts_at ?? started);
  const sessions = known.filter((session) => isListed(app, session)).sort((one, other) => begins(one) - begins(other));
  const of = (pk) => patients.find((patient) => patient.pk === pk);
  const coming = appointments.filter(({ patient }) => of(patient));
  const open = sessions.filter(({ signed, mine }) => mine && !signed);
  const signed = sessions.filter((session) => session.signed);
  const busy = new Set(sessions.map(({ patient }) => patient.pk));
  const others = patients.filter(({ pk }) => !busy.has(pk) && !coming.some(({ patient }) => patient === pk));
  return [
    section("Under way", open.map((session) => row({ app, session, patient: session.patient, appointment: visit(session.patient.pk) })), "open"),
    section("Today", coming.filter(({ patient }) => !busy.has(patient)).map((appointment) => row({ app, appointment, patient: of(appointment.patient) })), "today"),
    section("Also on this tablet", others.map((patient) => row({ app, patient })), "others"),
    section("Signed", signed.map((session) => row({ app, session, patient: session.patient, appointment: visit(session.patient.pk) })), "signed"),
  ].filter(Boolean);
}

// Looked at before the first patient, not when it is needed.
function kitNotice({ day }) {
  const odd = (day?.kit ?? []).filter(({ state }) => ["missing", "runs_out"].includes(state));
  return odd.length ? node("div", { class: "flag flag--caution", "data-key": "kit" }, icon("caution"),
    node("div", { class: "flag__body" }, node("p", { class: "flag__title" }, "Emergency kit: look before you start"),
      node("ul", {}, odd.map(({ site, words }) => node("li", {}, site ? [bdi(site), ", "] : null, words))))) : null;
}

function waits(app) {
  const count = app.waiting.length;
  const asked = app.waiting.filter(({ state }) => state === "refused" || state === "conflict");
  if (!count) {
    return node("p", { class: "stored stored--good", "data-day-waiting": 0 }, icon("check"),
      app.handedOver.length ? "All of yours is stored in the clinic" : "Nothing waits on this tablet: all stored in the clinic");
  }
  const words = asked.length ? `, ${asked.length} of them ${asked.length === 1 ? "needs" : "need"} a decision` : "";
  return node("p", { class: `stored stored--${asked.length ? "stop" : "caution"}`, "data-day-waiting": count }, icon(asked.length ? "stop" : "state-due"),
    `${pluralOf(count, "entry waits", "entries wait")} on this tablet${words}`);
}

export function attachDay(screen, root) {
  const { app } = screen;
  const later = drawOnChange(screen, () => {
    const rows = lists(screen);
    const heard = app.day?.now ? `As the clinic told it at ${shortTime(app.day.now)}.` : "";
    const missing = screen.sessionKey && !screen.state;
    patch(
      root,
      node("header", { class: "page-head" }, node("div", { class: "page-head__text" }, node("h1", {}, "Charting"), node("p", { class: "page-head__lead" }, heard)), waits(app)),
      kitNotice(app),
      missing ? node("div", { class: "flag flag--note", "data-key": "missing" }, icon("note"), node("div", { class: "flag__body" }, node("p", { class: "flag__title" }, "This session is not on this tablet yet."), node("p", {}, "It is fetched when the clinic can be reached, if it is yours."))) : null,
      rows.length ? rows : app.day ? empty("Nobody is on today’s list", "A session starts from an appointment, or from a patient’s page while there is contact.", "appointments",
        node("a", { class: "button button--primary", href: root.dataset.patients }, "Find a patient"))
        : empty("This tablet has not heard the day’s list yet", "It needs contact with the clinic once; after that it works without.", "appointments"),
    );
  });
  app.addEventListener("waiting", later);
  on(root, "click", "data-chart", ({ dataset: { chart, appointment } }) => {
    begin(screen, Number(chart), appointment ? Number(appointment) : null);
  });
}


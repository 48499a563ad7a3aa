// One move under way, whether it is dragged, keyed or pressed into place. What it would be is shown beside what it is,
// said aloud, and sent only when it is confirmed. The clinic decides: 204 it is moved, 409 the time is taken or the visit
// closed, 422 something must be said or confirmed first; both bring what to show (templates of the appointments).

import { board, bodyOf, bounds, columnOf, columns, countOf, heldBy, nameOf, put, startOf, visitOf } from "./board.js";
import { refresh } from "./live.js";
import { clockOf, fitting } from "./times.js";
import { token } from "../token.js";

const bar = () => document.querySelector("[data-moving]");
const answer = () => document.querySelector("[data-move-answer]");
const tellIn = (name, text) => (bar().querySelector(`[data-moving-${name}]`).textContent = text);

let move = null;

export const isUnderWay = () => move !== null;
export const isDropped = () => move?.isDropped === true;

export function say(text) {
  document.querySelector("[data-diary-said]").textContent = text;
}

export function canLift(visit) {
  return visit?.dataset.movable !== undefined && board()?.dataset.moveAddress !== "";
}

function where(column, row) {
  const title = column.dataset.title;
  return `${clockOf(row)}, ${title}`;
}

export function lift(visit, { byKeys = false } = {}) {
  stop();
  const column = columnOf(visit);
  const ghost = document.createElement("div");
  ghost.className = "ghost";
  move = { visit, column, row: startOf(visit), count: countOf(visit), from: column, ghost, isDropped: false };
  visit.classList.add("is-lifted");
  document.documentElement.classList.toggle("is-dragging", !byKeys);
  tellIn("name", nameOf(visit));
  tellIn("from", where(column, move.row));
  bar().querySelector("[data-moving-keys]").hidden = !byKeys;
  bar().hidden = false;
  place(column, move.row);
  if (byKeys) {
    say(`${nameOf(visit)} is picked up at ${where(column, move.row)}. Arrows move it, Enter sends, Escape gives up.`);
  }
}

function place(column, row) {
  Object.assign(move, { column, row });
  put(move.ghost, row, move.count);
  move.ghost.textContent = `${clockOf(row)}–${clockOf(row + move.count)} ${nameOf(move.visit)}`;
  if (move.ghost.parentElement !== bodyOf(column)) {
    bodyOf(column).append(move.ghost);
  }
  tellIn("to", where(column, row));
  markTaken();
}

// Whoever has the practitioner or the room at that time already, as far as this page shows it.
function inTheWay({ visit, column, row, count }) {
  const [first, end] = heldBy(visit);
  const [before, after] = [startOf(visit) - first, end - startOf(visit) - count];
  const practitioner = column.dataset.practitioner ?? visit.dataset.practitioner;
  const room = column.dataset.room ?? visit.dataset.room;
  return columns()
    .filter((one) => one.dataset.day === column.dataset.day)
    .flatMap((one) => [...one.querySelectorAll(".visit[data-holds]")])
    .filter((other) => other !== visit)
    .filter(({ dataset }) => dataset.practitioner === practitioner || (room && dataset.room === room))
    .filter((other) => heldBy(other)[0] < row + count + after && heldBy(other)[1] > row - before);
}

function markTaken() {
  const others = inTheWay(move);
  document.querySelectorAll(".visit.is-in-the-way").forEach((visit) => visit.classList.remove("is-in-the-way"));
  others.forEach((visit) => visit.classList.add("is-in-the-way"));
  move.ghost.classList.toggle("is-taken", others.length > 0);
  move.taken = others.map((visit) => `${visit.dataset.start} ${nameOf(visit)}`).join(", ");
  tellIn("taken", move.taken && `Taken: ${move.taken}`);
  bar().querySelector("[data-moving-taken]").hidden = !move.taken;
}

const saidWhere = () => where(move.column, move.row) + (move.taken && `, taken: ${move.taken}`);

export function putAt(column, row, step = 1) {
  if (!column) {
    return;
  }
  place(column, fitting(row, { step, count: move.count, ...bounds() }));
}

// Arrow keys: `rows` down, `across` to the right.
export function shift(rows, across) {
  const all = columns();
  const column = all[all.indexOf(move.column) + across] ?? move.column;
  const step = Math.max(Math.abs(rows), 1);
  putAt(column, move.row + rows, step);
  move.ghost.scrollIntoView({ block: "nearest", inline: "nearest" });
  say(saidWhere());
}

const hasMoved = () => move.column !== move.from || move.row !== startOf(move.visit);

// Dropped: it waits for one press. Dropped where it was, nothing is asked.
export function drop() {
  document.documentElement.classList.remove("is-dragging");
  if (!hasMoved()) {
    stop();
    return;
  }
  move.isDropped = true;
  say(`Move ${nameOf(move.visit)} to ${saidWhere()}? Enter moves it, Escape leaves it.`);
  bar().querySelector("[data-moving-send]").focus();
}

export function stop({ focus = false } = {}) {
  if (!move) {
    return;
  }
  const { visit, ghost } = move;
  move = null;
  visit.classList.remove("is-lifted");
  document.querySelectorAll(".visit.is-in-the-way").forEach((other) => other.classList.remove("is-in-the-way"));
  ghost.remove();
  bar().hidden = true;
  document.documentElement.classList.remove("is-dragging");
  if (focus) {
    say("It stays where it was.");
    visit.focus();
  }
  document.dispatchEvent(new Event("diary:free"));
}

function fieldsOf({ visit, from, column, row }) {
  const fields = new FormData();
  // What was seen, so that a colleague's move is not undone unseen.
  fields.set("seen", `${from.dataset.day}T${visit.dataset.start}`);
  fields.set("day", column.dataset.day);
  fields.set("start", clockOf(row));
  fields.set("practitioner", column.dataset.practitioner ?? visit.dataset.practitioner);
  fields.set("room", column.dataset.room ?? visit.dataset.room);
  fields.set("minutes", visit.dataset.minutes);
  return fields;
}

export async function send() {
  if (!hasMoved()) {
    stop({ focus: true });
    return;
  }
  const { visit, column, row } = move;
  const pk = visit.dataset.visit;
  const address = board().dataset.moveAddress.replace("/0/", `/${pk}/`);
  const done = `${nameOf(visit)} is moved to ${where(column, row)}.`;
  await post(address, fieldsOf(move), { pk, done, undo: wayBack(move) });
}

// What takes the move back: the old place, seen from the new one.
function wayBack({ visit, from, column, row }) {
  const fields = new FormData();
  fields.set("seen", `${column.dataset.day}T${clockOf(row)}`);
  fields.set("day", from.dataset.day);
  fields.set("start", visit.dataset.start);
  for (const name of ["practitioner", "room", "minutes"]) {
    fields.set(name, visit.dataset[name]);
  }
  const done = `${nameOf(visit)} is back at ${where(from, startOf(visit))}.`;
  return { fields, done };
}

// Seen as well as said, with the way back.
function tellDone(address, { pk, done, undo }) {
  say(done);
  const act = undo && { label: "Undo", run: () => post(address, undo.fields, { pk, done: undo.done }) };
  document.dispatchEvent(new CustomEvent("toast", { detail: { text: done, act } }));
}

const headers = () => ({ "X-CSRFToken": token(), "HX-Request": "true" });

async function post(address, body, again) {
  const { pk } = again;
  const button = bar().querySelector("[data-moving-send]");
  button.setAttribute("aria-busy", "true");
  let response;
  try {
    response = await fetch(address, { method: "POST", body, headers: headers() });
  } catch {
    tellIn("from", "Not moved: the server cannot be reached. Try again, or leave it.");
    return;
  } finally {
    button.removeAttribute("aria-busy");
  }
  if (response.ok) {
    answer().close();
    stop();
    tellDone(address, again);
    await refresh({ own: true, focus: `v${pk}` });
  } else if (response.status === 409 || response.status === 422) {
    show(await response.text(), { ...again, address });
  } else {
    tellIn("from", `Not moved: the server answered with an error (${response.status}).`);
  }
}

// What the clinic answers: why not, and buttons or a form that ask anew.
function show(html, again) {
  const dialog = answer();
  const inside = dialog.querySelector("[data-answer-body]");
  inside.innerHTML = html;
  window.htmx.process(inside);
  dialog.again = again;
  if (!dialog.open) {
    dialog.showModal();
  }
}

document.addEventListener(
  "submit",
  (event) => {
    const dialog = event.target.closest("[data-move-answer]");
    if (!dialog) {
      return;
    }
    event.preventDefault();
    event.stopPropagation();
    const action = event.target.getAttribute("action") || dialog.again.address;
    // Another time than the one that was shown may be chosen there: the way back is not known then.
    const { pk, address } = dialog.again;
    post(action, new FormData(event.target, event.submitter), { pk, address, done: "The visit is moved." });
  },
  true,
);

// The answer's own buttons may be sent by htmx.
document.addEventListener("htmx:afterRequest", (event) => {
  if (event.detail.successful && event.target.closest?.("[data-move-answer]") && event.detail.xhr.status === 204) {
    answer().close();
  }
});

document.addEventListener("click", (event) => {
  if (event.target.closest("[data-moving-send]")) {
    send();
  } else if (event.target.closest("[data-moving-stop]")) {
    stop({ focus: true });
  }
});

document.querySelector("[data-move-answer]").addEventListener("close", () => {
  const pk = answer().again?.pk;
  stop();
  visitOf(pk)?.focus();
  refresh({ own: true });
});

// Keeps the diary up to date. While the page is in sight it asks every few seconds whether anything changed (304: no);
// if so the part #diary is put in anew, without losing focus, place, or a move under way. Without an answer it asks more
// seldom and says so.

import { board, diary } from "./board.js";

const EVERY_MS = 5_000;
const LONGEST_MS = 60_000;
const SHOWN_MS = 4_000;

let timer = null;
let wait = EVERY_MS;
let answeredAt = new Date();
let waiting = null;
let isBusy = () => false;

export function holdWhile(busy) {
  isBusy = busy;
}

function tell(text) {
  const state = document.querySelector("[data-diary-state]");
  if (state.textContent !== text) {
    state.textContent = text;
    state.classList.toggle("is-late", text !== "");
  }
}

const htmlOf = (root) => new Map([...root.querySelectorAll(".visit")].map((visit) => [visit.id, visit.outerHTML]));

// Without what scripts have added since.
function plain(html) {
  return html.replace(/ tabindex="-?\d+"| style="[^"]*"/g, "").replace(/ is-(changed|lifted|awaited)/g, "");
}

function markChanged(before) {
  const changed = [...diary().querySelectorAll(".visit")].filter(
    (visit) => plain(before.get(visit.id) ?? "") !== plain(visit.outerHTML),
  );
  changed.forEach((visit) => visit.classList.add("is-changed"));
  setTimeout(() => changed.forEach((visit) => visit.classList.remove("is-changed")), SHOWN_MS);
}

function swap(html, { own, focus }) {
  const old = diary();
  const next = new DOMParser().parseFromString(html, "text/html").getElementById("diary");
  if (!next) {
    return;
  }
  const before = htmlOf(old);
  const scrolled = board() && [board().scrollLeft, board().scrollTop];
  const hadFocus = old.contains(document.activeElement);
  const focused = focus ?? (hadFocus ? document.activeElement.id : "");
  const isOpen = old.querySelector(".diary-cancelled")?.open;
  old.replaceWith(document.adoptNode(next));
  if (isOpen) {
    diary().querySelector(".diary-cancelled")?.setAttribute("open", "");
  }
  if (scrolled && board()) {
    [board().scrollLeft, board().scrollTop] = scrolled;
  }
  document.dispatchEvent(new Event("diary:shown"));
  if (focus || hadFocus) {
    (document.getElementById(focused) ?? board())?.focus({ preventScroll: !focus });
  }
  if (!own) {
    markChanged(before);
  }
}

function failed() {
  wait = Math.min(wait * 2, LONGEST_MS);
  const since = answeredAt.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  tell(`Not up to date since ${since}: the clinic's server does not answer. It is asked again by itself.`);
}

export async function refresh({ own = false, focus } = {}) {
  clearTimeout(timer);
  const { address, mark } = diary().dataset;
  try {
    const headers = { "HX-Request": "true", "If-None-Match": `"${mark}"` };
    const response = await fetch(address, { headers, cache: "no-store" });
    if (response.status === 401) {
      tell("You are signed out. Sign in again to see changes: reload the page.");
      return;
    }
    if (response.status !== 304 && !response.ok) {
      throw new Error(`${response.status}`);
    }
    [wait, answeredAt] = [EVERY_MS, new Date()];
    tell("");
    if (response.ok) {
      waiting = { html: await response.text(), how: { own, focus } };
      showWaiting();
    }
  } catch {
    failed();
  }
  later();
}

// What came during a move is shown after it.
function showWaiting() {
  if (waiting && !isBusy()) {
    const { html, how } = waiting;
    waiting = null;
    swap(html, how);
  }
}

function later() {
  clearTimeout(timer);
  if (document.visibilityState === "visible") {
    timer = setTimeout(refresh, wait);
  }
}

document.addEventListener("diary:free", showWaiting);
document.addEventListener("visibilitychange", () => {
  clearTimeout(timer);
  if (document.visibilityState === "visible") {
    refresh();
  }
});
window.addEventListener("online", () => refresh());
later();

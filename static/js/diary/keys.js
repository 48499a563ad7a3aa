// The board by keyboard: Tab goes in and out, arrows go from visit to visit and to free time, M picks a visit up; then
// arrows move it (with Shift by fifteen minutes), Enter sends, Escape gives up.

import { board, columnOf, columns, isList } from "./board.js";
import { letGo } from "./drag.js";
import { canLift, isDropped, isUnderWay, lift, send, shift, stop } from "./move.js";

const STEPS = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] };
const stopsOf = (column) => [...column.querySelectorAll(".visit, .gap")];

// One of them is in the order of Tab: the one that had the focus last.
function keepOneStop(chosen) {
  const all = board() ? [...board().querySelectorAll(".visit, .gap")] : [];
  const one = all.includes(chosen) ? chosen : (all.find((stop) => stop.matches(".visit")) ?? all[0]);
  for (const stop of all) {
    stop.tabIndex = isList() || stop === one ? 0 : -1;
  }
}

function beside(element, [down, across]) {
  const all = columns();
  const column = columnOf(element);
  if (down) {
    const stops = stopsOf(column);
    return stops[stops.indexOf(element) + down];
  }
  const { top } = element.getBoundingClientRect();
  for (let index = all.indexOf(column) + across; index in all; index += across) {
    const stops = stopsOf(all[index]);
    if (stops.length) {
      const far = (stop) => Math.abs(stop.getBoundingClientRect().top - top);
      return stops.reduce((best, stop) => (far(stop) < far(best) ? stop : best));
    }
  }
  return undefined;
}

function keyInMove(event) {
  if (event.key === "Escape") {
    letGo();
    stop({ focus: true });
  } else if (isDropped()) {
    return false; // Enter and Tab are those of the buttons
  } else if (event.key === "Enter") {
    send();
  } else if (event.key in STEPS) {
    const [down, across] = STEPS[event.key];
    shift(down * (event.shiftKey ? 3 : 1), across);
  } else {
    return false;
  }
  return true;
}

function keyOnStop(event, element) {
  if (event.key.toLowerCase() === "m" && canLift(element) && !isList()) {
    lift(element, { byKeys: true });
  } else if (event.key in STEPS && !event.shiftKey) {
    beside(element, STEPS[event.key])?.focus();
  } else {
    return false;
  }
  return true;
}

function strike(event) {
  if (event.ctrlKey || event.metaKey || event.altKey || document.querySelector("dialog[open]")) {
    return;
  }
  const element = event.target.closest?.(".visit, .gap");
  const isButton = event.target.closest?.("[data-moving]") && event.key === "Enter";
  const isDone = isUnderWay() ? !isButton && keyInMove(event) : element && keyOnStop(event, element);
  if (isDone) {
    event.preventDefault();
  }
}

// Before the page's own keys (shortcuts.js), of which M is one: they leave alone what was taken here.
document.addEventListener("keydown", strike, true);

document.addEventListener("focusin", (event) => {
  if (event.target.matches?.(".visit, .gap")) {
    keepOneStop(event.target);
  }
});
document.addEventListener("diary:shown", () => keepOneStop(document.activeElement));

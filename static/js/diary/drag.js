// Moving a visit by mouse, or by finger after a long press. It snaps to five minutes, with Shift to fifteen.

import { board, columnOf, isList, rowAt, startOf } from "./board.js";
import { canLift, drop, isUnderWay, lift, putAt, stop } from "./move.js";

const NEAR_PX = 6;
const LONG_PRESS_MS = 450;
const EDGE_PX = 40;
const SCROLL_PX = 14;

let press = null;

const isFar = (event) => Math.hypot(event.clientX - press.x, event.clientY - press.y) > NEAR_PX;

function begin() {
  press.isDragging = true;
  lift(press.visit);
}

function end() {
  clearTimeout(press?.timer);
  press = null;
}

// Near an edge the board scrolls along.
function scrollAlong(event) {
  const box = board().getBoundingClientRect();
  const beyond = (at, low, high) => (at > high - EDGE_PX ? SCROLL_PX : at < low + EDGE_PX ? -SCROLL_PX : 0);
  board().scrollBy(beyond(event.clientX, box.left, box.right), beyond(event.clientY, box.top, box.bottom));
}

document.addEventListener("pointerdown", (event) => {
  const visit = event.target.closest?.(".visit");
  if (event.button !== 0 || isUnderWay() || isList() || !canLift(visit)) {
    return;
  }
  press = { visit, x: event.clientX, y: event.clientY, isDragging: false };
  // Where in the visit it was taken, so that it does not jump under the pointer.
  press.grip = rowAt(columnOf(visit), event.clientY) - startOf(visit);
  if (event.pointerType !== "mouse") {
    press.timer = setTimeout(begin, LONG_PRESS_MS);
  }
});

document.addEventListener("pointermove", (event) => {
  if (!press) {
    return;
  }
  if (!press.isDragging) {
    if (!isFar(event)) {
      return;
    }
    if (event.pointerType !== "mouse") {
      end(); // the finger scrolls
      return;
    }
    begin();
  }
  scrollAlong(event);
  const column = columnOf(document.elementFromPoint(event.clientX, event.clientY));
  if (column) {
    putAt(column, rowAt(column, event.clientY) - press.grip, event.shiftKey ? 3 : 1);
  }
});

document.addEventListener("pointerup", () => {
  const wasDragging = press?.isDragging;
  end();
  if (wasDragging) {
    // The press that ends a drag is no press on the visit.
    const swallow = (event) => {
      event.preventDefault();
      event.stopPropagation();
    };
    document.addEventListener("click", swallow, { capture: true, once: true });
    setTimeout(() => document.removeEventListener("click", swallow, true), 0);
    drop();
  }
});

document.addEventListener("pointercancel", () => {
  if (press?.isDragging) {
    stop();
  }
  end();
});

// While a finger drags, the page neither scrolls nor opens the browser's menu of a link.
document.addEventListener("touchmove", (event) => press?.isDragging && event.preventDefault(), { passive: false });
document.addEventListener("contextmenu", (event) => press && event.target.closest(".visit") && event.preventDefault());
document.addEventListener("dragstart", (event) => event.target.closest?.("[data-board]") && event.preventDefault());

export const isPressed = () => press !== null;
export const letGo = end;

// A press on the board where nothing is booked opens the booking page for the quarter of an hour under the pointer; while
// a visit is picked up it is put there instead. The time under a mouse is shown.

import { board, bodyOf, bounds, columnOf, isList, put, rowAt } from "./board.js";
import { isUnderWay, putAt } from "./move.js";
import { isOver } from "./now.js";
import { clockOf, rowOf } from "./times.js";

const QUARTER = 3;
const pointed = document.createElement("div");
pointed.className = "pointed";

// The quarter of an hour, or the beginning of free time that begins within it.
function startAt(column, event) {
  const row = rowAt(column, event.clientY);
  const { first, end } = bounds();
  const quarter = Math.floor(row / QUARTER) * QUARTER;
  const gap = event.target.closest?.(".gap");
  const earliest = gap ? rowOf(new URL(gap.href).searchParams.get("start")) : first;
  return Math.min(Math.max(quarter, earliest), end - 1);
}

function addressAt(column, row) {
  const asked = new URLSearchParams({ day: column.dataset.day, start: clockOf(row) });
  for (const name of ["practitioner", "room"]) {
    if (column.dataset[name]) {
      asked.set(name, column.dataset[name]);
    }
  }
  return `${board().dataset.bookAddress}?${asked}`;
}

function freeColumn(event) {
  const body = event.target.closest?.("[data-board] .column__body");
  // A visit that is picked up can be put where another one is: it is told that the time is taken.
  if (!body || (event.target.closest(".visit") && !isUnderWay()) || isList()) {
    return null;
  }
  const column = columnOf(body);
  return isUnderWay() || !isOver(column, rowAt(column, event.clientY)) ? column : null;
}

document.addEventListener("click", (event) => {
  // A press of Enter on a link of free time reports no click: it goes where the link goes.
  const column = event.detail > 0 && freeColumn(event);
  if (!column || event.ctrlKey || event.metaKey || event.shiftKey) {
    return;
  }
  event.preventDefault();
  if (isUnderWay()) {
    putAt(column, Math.floor(rowAt(column, event.clientY) / QUARTER) * QUARTER);
  } else {
    window.location.assign(addressAt(column, startAt(column, event)));
  }
});

document.addEventListener("pointermove", (event) => {
  const column = event.pointerType === "mouse" && !isUnderWay() ? freeColumn(event) : null;
  if (!column) {
    pointed.remove();
    return;
  }
  const row = startAt(column, event);
  put(pointed, row, QUARTER);
  pointed.textContent = clockOf(row);
  if (pointed.parentElement !== bodyOf(column)) {
    bodyOf(column).append(pointed);
  }
});

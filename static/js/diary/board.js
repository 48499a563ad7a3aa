// Where things stand on the board: columns, rows, and putting an element into its place.

import { rowOf } from "./times.js";

export const diary = () => document.getElementById("diary");
export const board = () => document.querySelector("[data-board]");
export const columns = () => [...document.querySelectorAll("[data-column]")];
export const columnOf = (element) => element?.closest?.("[data-column]") ?? null;
export const bodyOf = (column) => column.querySelector(".column__body");
export const visitOf = (pk) => document.getElementById(`v${pk}`);
export const bounds = () => ({ first: Number(board().dataset.first), end: Number(board().dataset.end) });

// In a narrow window the board is a list (agenda.css), in which nothing has a height that means time.
export const isList = () => window.matchMedia("(max-width: 56rem)").matches;

// The row, with its fraction, at a height of the window.
export function rowAt(column, clientY) {
  const box = bodyOf(column).getBoundingClientRect();
  const { first, end } = bounds();
  return first + ((clientY - box.top) / box.height) * (end - first);
}

// Numbers for static/css/diary/places.css. The content policy forbids style attributes, not properties set by a script.
export function put(element, row, count) {
  const { first } = bounds();
  const places = { "at-h": 0, "at-m": row - first, "for-h": 0, "for-m": count };
  for (const [name, value] of Object.entries(places)) {
    element.style.setProperty(`--${name}`, value);
  }
}

export const startOf = (visit) => rowOf(visit.dataset.start);
export const countOf = (visit) => Math.ceil(Number(visit.dataset.minutes) / 5);
// The rows in which nothing else can be, preparation and buffer among them; none for who did not come.
export const heldBy = (visit) => visit.dataset.holds?.split("-").map(Number) ?? [0, 0];
export const nameOf = (visit) => visit.querySelector("bdi").textContent;

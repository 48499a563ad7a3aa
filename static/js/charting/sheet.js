// Sheets: dialogs over the screen, filled when they are opened. Escape, focus and the veil are static/js/dialog.js and
// the browser's own.

import { button, icon, node, patch } from "./dom.js";

export function sheetNamed(name) {
  return document.querySelector(`[data-sheet="${name}"]`);
}

// head: more under the title; body and foot: lists of nodes.
export function fillSheet(sheet, { title, head = [], body, foot = [] }) {
  const heading = node("div", {}, node("h2", { id: `${sheet.id}-title` }, title), head);
  const close = button({ class: "dialog__close", "data-dialog-close": true }, icon("close", "Close"));
  patch(
    sheet,
    node("div", { class: "dialog__head" }, heading, close),
    node("div", { class: "dialog__body" }, body),
    foot.length ? node("div", { class: "dialog__foot" }, foot) : null,
  );
}

export function openSheet(sheet, parts) {
  fillSheet(sheet, parts);
  if (!sheet.open) {
    sheet.showModal();
  }
}

// Telling the person: aloud, as a sentence beside what it is about, or as a toast.

import { button, icon, node } from "./dom.js";

const STAY_MS = 9000;

export function attachSaying(screen, line) {
  screen.addEventListener("say", ({ detail }) => {
    line.textContent = detail;
  });
}

// A sentence beside what it is about; nothing where there is nothing to say.
export function problem(text) {
  return node("p", { class: "chart__problem", "data-problem": true, role: "alert", hidden: !text }, text);
}

export function empty(title, text, sign = "", act = null) {
  const line = text ? node("p", { class: "empty__text" }, text) : null;
  return node("div", { class: "empty" }, sign ? icon(sign) : null, node("p", { class: "empty__title" }, title), line, act);
}

export function toast(text, { level = "info", label = "", act = null } = {}) {
  const shown = document.querySelector("[data-toast-template]").content.firstElementChild.cloneNode(true);
  shown.querySelector("[data-toast-text]").textContent = text;
  if (level !== "error") {
    shown.classList.replace("toast--error", `toast--${level}`);
    shown.dataset.toast = level;
    setTimeout(() => shown.remove(), STAY_MS);
  }
  if (act) {
    const press = button({}, label);
    press.addEventListener("click", () => {
      shown.remove();
      act();
    });
    shown.querySelector("[data-toast-text]").append(" ", press);
  }
  document.querySelector("[data-toasts]").append(shown);
  return shown;
}

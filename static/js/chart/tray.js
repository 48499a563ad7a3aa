// The tray: which unit is drawn from, opening one, waste; and every form that is answered with the screen's parts.

import { announce, problem } from "./say.js";
import { inOrder, post } from "./server.js";

async function showChoices(dialog) {
  const body = dialog.querySelector("[data-choices]");
  body.textContent = "Looking at the stock …";
  dialog.showModal();
  try {
    const response = await fetch(body.dataset.choices, { redirect: "manual" });
    if (!response.ok) {
      throw new Error(String(response.status));
    }
    body.innerHTML = await response.text();
  } catch {
    body.textContent = "The stock cannot be read now. Close this and try again.";
  }
}

function showWaste(dialog, button) {
  const form = dialog.querySelector("form");
  form.action = button.dataset.waste;
  form.reset();
  form.elements.wasted_before.value = button.dataset.wasteBefore;
  problem(form, "");
  form.querySelector("[data-waste-about]").textContent = button.dataset.wasteLabel;
  form.querySelector("[data-waste-unit]").textContent = button.dataset.wasteMeasure === "dose" ? "units" : "mL";
  dialog.showModal();
}

function sendForm(form, { apply, settings }) {
  const submit = form.querySelector('[type="submit"]');
  submit.disabled = true;
  form.closest("[popover]")?.hidePopover();
  const known = new Set([...document.querySelectorAll("[data-unit]")].map((radio) => radio.value));
  return inOrder(async () => {
    const answer = await post(form.action, new FormData(form));
    submit.disabled = false;
    if (answer.outcome !== "stored") {
      problem(form, answer.message);
      return;
    }
    problem(form, "");
    const said = apply(answer.html);
    form.closest("dialog")?.close();
    const fresh = [...document.querySelectorAll("[data-unit]")].find((radio) => !known.has(radio.value));
    if (fresh) {
      settings.chooseUnit(fresh);
    }
    announce(said);
  });
}

export function attachTray({ apply, settings, selection }) {
  document.addEventListener("click", (event) => {
    if (event.target.closest("[data-open-unit]")) {
      showChoices(document.getElementById("open-unit"));
    }
    const wasteButton = event.target.closest("[data-waste]");
    if (wasteButton) {
      wasteButton.closest("[popover]").hidePopover();
      showWaste(document.getElementById("waste"), wasteButton);
    }
  });
  document.addEventListener("change", (event) => {
    if (event.target.matches("[data-unit]")) {
      settings.chooseUnit(event.target);
      if (selection.key) {
        selection.change();
      }
    }
  });
  document.addEventListener("submit", (event) => {
    if (event.target.matches("[data-parts-form]")) {
      sendForm(event.target, { apply, settings });
    }
  });
}

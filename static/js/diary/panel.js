// A visit opens in a panel over the board. What is pressed there (arrived, done ...) is sent, then panel and board are
// fetched anew, so that nobody loses the place in the day.

import { board, isList, visitOf } from "./board.js";
import { refresh } from "./live.js";
import { canLift, isUnderWay, lift } from "./move.js";
import { token } from "../token.js";

const panel = document.querySelector("[data-visit-panel]");
const inside = panel.querySelector("[data-visit-body]");
let shown = null;

async function show(address) {
  await window.htmx.ajax("GET", address, { target: inside, swap: "innerHTML" });
  const body = inside.querySelector("[data-visit-shown]");
  if (!body) {
    return;
  }
  shown = { address, pk: body.dataset.visitShown };
  const move = inside.querySelector("[data-visit-move]");
  if (move) {
    move.hidden = isList() || !canLift(visitOf(shown.pk));
  }
  if (!panel.open) {
    panel.showModal();
  }
  body.focus();
}

document.addEventListener("click", (event) => {
  const visit = event.target.closest("[data-board] .visit");
  if (visit && !event.ctrlKey && !event.metaKey && !event.shiftKey) {
    event.preventDefault();
    if (!isUnderWay()) {
      show(visit.getAttribute("href"));
    }
  } else if (event.target.closest("[data-visit-move]")) {
    const { pk } = shown;
    panel.close();
    const lifted = visitOf(pk);
    lifted.focus();
    lift(lifted, { byKeys: true });
  }
});

panel.addEventListener("close", () => {
  inside.replaceChildren();
  (visitOf(shown?.pk) ?? board())?.focus({ preventScroll: true });
});

async function act(form, submitter) {
  submitter?.setAttribute("aria-busy", "true");
  try {
    const body = new FormData(form, submitter);
    const headers = { "X-CSRFToken": token() };
    const response = await fetch(form.action, { method: "POST", body, headers, redirect: "manual" });
    if (response.type === "opaqueredirect" || response.ok) {
      await show(shown.address);
      await refresh({ own: true });
      return;
    }
  } catch {
    // Sent the plain way below, the browser says what is wrong.
  }
  submitter?.removeAttribute("aria-busy");
  form.submit();
}

// Before the listeners that watch forms which leave the page.
document.addEventListener(
  "submit",
  (event) => {
    if (event.target.closest("[data-visit-panel]") && event.target.method === "post") {
      event.preventDefault();
      event.stopPropagation();
      act(event.target, event.submitter);
    }
  },
  true,
);

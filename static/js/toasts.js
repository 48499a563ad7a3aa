// Toasts: [data-toasts] holds .toast elements (templates/ui/toast.html). Informing ones leave after a while, longer
// for longer sentences and never while the pointer or the focus is on them; warnings, errors and those that offer to
// take something back wait to be closed.
// A request of htmx that failed becomes a toast too, so that a failure is never silent.

const STAYS = new Set(["error", "warning"]);
const BASE_MS = 5000;
const PER_CHARACTER_MS = 60;

function leaveLater(toast) {
  if (STAYS.has(toast.dataset.toast) || toast.querySelector("form, .toast__act")) {
    return;
  }
  const wait = BASE_MS + PER_CHARACTER_MS * toast.textContent.trim().length;
  const leave = () => (toast.matches(":hover, :focus-within") ? setTimeout(leave, BASE_MS) : toast.remove());
  setTimeout(leave, wait);
}

function add(text, { kind = "template", act } = {}) {
  const region = document.querySelector("[data-toasts]");
  const toast = document.querySelector(`[data-toast-${kind}]`).content.firstElementChild.cloneNode(true);
  toast.querySelector("[data-toast-text]").textContent = text;
  if (act) {
    const button = document.createElement("button");
    Object.assign(button, { type: "button", className: "button button--small toast__act", textContent: act.label });
    button.addEventListener("click", () => {
      toast.remove();
      act.run();
    });
    toast.querySelector("[data-toast-text]").append(document.createElement("br"), button);
  }
  region.append(toast);
  return toast;
}

function reasonFor(status) {
  if (status === 401 || status === 403) {
    return "Not done: you are signed out or not allowed to do this. What you typed is still here.";
  }
  return `Not done: the server answered with an error (${status}). What you typed is still here; try again.`;
}

document.querySelectorAll("[data-toasts] [data-toast]").forEach(leaveLater);

document.addEventListener("click", (event) => {
  if (event.target.closest("[data-toast-close]")) {
    event.target.closest("[data-toast]").remove();
  }
});

// What a page's script did: {text, act: {label, run}}; the act takes it back, and may be missing.
document.addEventListener("toast", ({ detail: { text, act } }) => {
  // One way back at a time: that of the act before might no longer lead where it says.
  document.querySelectorAll("[data-toast]:has(button.toast__act)").forEach((old) => old.remove());
  leaveLater(add(text, { kind: "done", act }));
});

document.addEventListener("htmx:responseError", (event) => add(reasonFor(event.detail.xhr.status)));
document.addEventListener("htmx:sendError", () =>
  add("Not done: the server cannot be reached. What you typed is still here; try again."),
);
document.addEventListener("htmx:timeout", () =>
  add("Not done: the server took too long to answer. What you typed is still here; try again."),
);

// A form that was changed and not sent is not left in silence: the browser asks first. It holds for forms marked data-once
// or data-keep, and for one that came back unsaved (data-unsaved, or one with an error); not for data-leave-freely.

const KEPT = "form:is([data-once], [data-keep]):not([data-leave-freely], [data-left])";
const REFUSED = "[aria-invalid='true'], .field__error, .flag--stop";
const changed = new WeakSet();

function holdsWork(form) {
  // What nobody sees, such as a dialog that was closed, is not waited for.
  const seen = form.getClientRects().length > 0;
  return seen && (changed.has(form) || form.matches("[data-unsaved]") || form.querySelector(REFUSED) !== null);
}

document.addEventListener("input", (event) => {
  const form = event.target.form;
  if (form) {
    changed.add(form);
    delete form.dataset.left;
  }
});

document.addEventListener("submit", (event) => {
  changed.delete(event.target);
  event.target.dataset.left = "yes";
});

window.addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-left]")) {
    delete form.dataset.left;
  }
});

document.addEventListener("reset", (event) => changed.delete(event.target));

window.addEventListener("beforeunload", (event) => {
  if ([...document.querySelectorAll(KEPT)].some(holdsWork)) {
    event.preventDefault();
    event.returnValue = true;
  }
});

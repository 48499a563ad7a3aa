// Native dialogs. A button with data-dialog-open="id" opens <dialog id>; data-dialog-close inside one closes it.
// data-dialog-shown on the <dialog> opens it at load (a form that came back with errors). Escape and the return of
// the focus are the browser's own. A press on the veil closes it unless the dialog has data-dialog-keep.

function isVeil(event, dialog) {
  const box = dialog.getBoundingClientRect();
  const inside =
    event.clientX >= box.left && event.clientX <= box.right && event.clientY >= box.top && event.clientY <= box.bottom;
  // A press of Enter on a button reports 0, 0: that is no press on the veil.
  return !inside && event.detail > 0;
}

function showMarked(root) {
  for (const dialog of root.querySelectorAll("dialog[data-dialog-shown]:not([open])")) {
    dialog.showModal();
  }
}

document.addEventListener("click", (event) => {
  const opener = event.target.closest("[data-dialog-open]");
  if (opener) {
    document.getElementById(opener.dataset.dialogOpen)?.showModal();
    return;
  }
  if (event.target.closest("[data-dialog-close]")) {
    event.target.closest("dialog")?.close();
    return;
  }
  if (event.target.matches("dialog[open]:not([data-dialog-keep])") && isVeil(event, event.target)) {
    event.target.close();
  }
});

document.addEventListener("htmx:afterSettle", (event) => showMarked(event.target));
showMarked(document);

// A form marked data-once is sent once: a second press while the first is under way is ignored, and the pressed
// button says that it works. Coming back by the browser's "back" frees the form again.

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented || !form.matches("form[data-once]")) {
    return;
  }
  if (form.dataset.sent === "yes") {
    event.preventDefault();
    return;
  }
  form.dataset.sent = "yes";
  event.submitter?.setAttribute("aria-busy", "true");
});

window.addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-sent]")) {
    delete form.dataset.sent;
    form.querySelector("[aria-busy]")?.removeAttribute("aria-busy");
  }
});

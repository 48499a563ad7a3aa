// A part of the page that is fetched by its own address, [data-panel], says so when it cannot be had.

function say(event) {
  const state = event.target.closest?.("[data-panel]")?.querySelector("[data-panel-state]");
  if (state) {
    state.textContent = "This could not be loaded. Reload the page to try again.";
  }
}

document.addEventListener("htmx:responseError", say);
document.addEventListener("htmx:sendError", say);
document.addEventListener("htmx:timeout", say);

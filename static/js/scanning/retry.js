// A code that was refused stays in its field, chosen as a whole: a scanner's next code takes its place instead of being
// written behind it.

const REFUSED = "[data-scan-input][aria-invalid='true']";

function choose(root) {
  const input = root.querySelector?.(REFUSED);
  if (input) {
    input.focus();
    input.select();
  }
}

document.addEventListener("htmx:afterSettle", (event) => choose(event.target));
choose(document);

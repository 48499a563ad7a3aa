// A scanner that types: [data-scan-input]. The separator between two entries, which browsers drop when it is typed
// (Ctrl and ]), is shown as | and reads the same; so is one that was pasted.

const SEPARATOR = "\u001d";
const SHOWN = "|";

export const shown = (text) => text.replaceAll(SEPARATOR, SHOWN);

function isSeparator(event) {
  // On other keyboard layouts the key's place gives "]" away, except where Ctrl and + makes the page larger.
  const key = event.key === "]" || event.key === SEPARATOR || (event.code === "BracketRight" && event.key !== "+");
  return event.ctrlKey && !event.altKey && !event.metaKey && key;
}

// `onRead(input)` is called when the scanner ends a code with Enter.
export function followWedge(root, onRead) {
  root.addEventListener("keydown", (event) => {
    const input = event.target.closest?.("[data-scan-input]");
    if (!input) {
      return;
    }
    if (isSeparator(event)) {
      event.preventDefault();
      input.setRangeText(SHOWN, input.selectionStart, input.selectionEnd, "end");
    } else if (event.key === "Enter" && !event.isComposing) {
      event.preventDefault();
      onRead(input);
    }
  });
  root.addEventListener("input", (event) => {
    if (event.target.matches("[data-scan-input]") && event.target.value.includes(SEPARATOR)) {
      event.target.value = shown(event.target.value);
    }
  });
}

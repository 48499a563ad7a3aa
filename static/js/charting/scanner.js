// A scanner that types, wherever the focus is: the code goes into the field of the opening sheet, and no sign of it is
// taken for a key of the screen. Nobody types six signs in a row as quickly; what comes slower or alone is passed on.

import { openOpening } from "./opening.js";
import { sheetNamed } from "./sheet.js";

const GAP_MS = 50;
const SURE = 6;
const TYPED_INTO = 'input:not([type="radio"], [type="checkbox"]), textarea, select';

// To where the focus is by now: the key before may have moved it.
function passOn({ target, key, code, shiftKey }) {
  (document.activeElement ?? target).dispatchEvent(new KeyboardEvent("keydown", { key, code, shiftKey, bubbles: true, cancelable: true, composed: true }));
}

class Scanner {
  constructor(screen) {
    Object.assign(this, { screen, held: [], timer: null });
  }

  // With the opening sheet open it is heard there; behind any other sheet, and in a field, keys are left alone.
  isHeard({ target }) {
    const dialogs = [...document.querySelectorAll("dialog[open]")];
    return this.screen.isOpen && !this.screen.app.locked && !target.matches(TYPED_INTO) && dialogs.every((dialog) => dialog === sheetNamed("opening"));
  }

  letGo() {
    clearTimeout(this.timer);
    this.held.splice(0).forEach(passOn);
  }

  key(event) {
    const { key, ctrlKey, altKey, metaKey, repeat } = event;
    if (!event.isTrusted || key === "Shift") {
      return;
    }
    if (key.length !== 1 || key === " " || ctrlKey || altKey || metaKey || repeat || !this.isHeard(event)) {
      this.letGo();
      return;
    }
    event.preventDefault();
    event.stopImmediatePropagation();
    clearTimeout(this.timer);
    this.held.push(event);
    if (this.held.length < SURE) {
      this.timer = setTimeout(() => this.letGo(), GAP_MS);
      return;
    }
    const sheet = sheetNamed("opening").open ? sheetNamed("opening") : openOpening(this.screen);
    const field = sheet.querySelector("[data-scan-input]");
    field.value = this.held.splice(0).map((each) => each.key).join("");
    // What is still to come is typed into it by the browser.
    field.focus();
  }
}

export function attachScanner(screen) {
  const scanner = new Scanner(screen);
  document.addEventListener("keydown", (event) => scanner.key(event), { capture: true });
}

// On a page that cannot send: what was tapped on this tablet in the session and never stored.

import { storedEntries } from "./outbox.js";
import { described } from "./waiting.js";

export function warnOfUnsent(box) {
  const name = box.dataset.unsent;
  const isShown = ({ id }) => document.querySelector(`[data-row="${id}"]`);
  const forget = (entries) => entries.forEach(({ id }) => localStorage.removeItem(`${name}:${id}`));
  // Shown in the table: stored, only its answer was lost.
  const stored = storedEntries(name).filter((entry) => entry.state === "stored" || isShown(entry));
  forget(stored);
  const left = storedEntries(name);
  box.hidden = !left.length;
  box.querySelector("[data-unsent-list]").textContent = left.map(described).join("; ");
  box.querySelector("[data-unsent-forget]")?.addEventListener("click", () => {
    forget(left);
    box.hidden = true;
  });
}

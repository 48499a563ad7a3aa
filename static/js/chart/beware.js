// What to be careful of where the needle is: a chip on the drawing, the sources under the flags.

export function showBeware(region) {
  const chip = document.querySelector("[data-beware-chip]");
  chip.hidden = true;
  for (const section of document.querySelectorAll("[data-beware]")) {
    section.hidden = section.dataset.beware !== region;
    if (!section.hidden) {
      chip.hidden = false;
      chip.className = `beware-chip beware-chip--${section.dataset.level}`;
      chip.querySelector("[data-beware-label]").textContent = section.dataset.label;
    }
  }
}

// The region of the chosen point, of the one to be added, or of the last one.
export function regionAtHand() {
  const chosen = document.querySelector("[data-row].is-chosen");
  const rows = document.querySelectorAll("[data-row]");
  const place = document.querySelector("[data-how-place]");
  const picked = place.hidden ? "" : place.querySelector("[data-region]").value;
  return chosen?.dataset.region || picked || rows[rows.length - 1]?.dataset.region || "";
}

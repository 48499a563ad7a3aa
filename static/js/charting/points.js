// The points of the session, the same numbers as on the face; each says where it is stored.

import { formatAmount } from "./amounts.js";
import { button, drawOnChange, icon, node, patch } from "./dom.js";
import { mistakeOffer } from "./mistake.js";
import { heldLines } from "./quarantine.js";
import { empty } from "./say.js";

// Where a point is stored: sign and word, never colour alone.
const STATES = {
  clinic: { sign: "check", word: "In the clinic", said: "Stored in the clinic" },
  tablet: { sign: "state-due", word: "On tablet", said: "Stored on this tablet" },
  storing: { sign: "state-due", word: "Storing", said: "Being stored on this tablet" },
  memory: { sign: "caution", word: "Not stored", said: "Not stored: only on this page" },
  attention: { sign: "stop", word: "Attention", said: "Needs attention" },
};

export function whereBadge(where) {
  const { sign, word, said } = STATES[where] ?? STATES.clinic;
  return node("span", { class: `where where--${where}`, title: said }, icon(sign), node("span", { class: "where__word" }, word));
}

function instrumentText(screen, { instrument, gauge, length_mm: length }) {
  return [screen.word("instrument", instrument), gauge && `${gauge} G`, length && `${length} mm`].filter(Boolean).join(", ");
}

function row(screen, point) {
  const { key, number, view, x_dmm: x, y_dmm: y, where, region, side } = point;
  const found = screen.app.reference.regions.find((each) => each.key === region);
  const chosen = screen.chosen === key;
  const head = screen.isOpen
    ? button({ class: "points__choose", "data-choose": key, "aria-label": `Point ${number}: choose`, "aria-pressed": String(chosen) }, node("span", { class: "point-no" }, number))
    : node("span", { class: "point-no" }, number);
  return node(
    "tr", { class: `points__row${chosen ? " is-chosen" : ""}`, "data-key": key, "data-row": key, "data-number": number, "data-view": view, "data-x": x, "data-y": y, "data-region": region, "data-side": side, "data-where": where },
    node("th", { scope: "row" }, head),
    node("td", {}, node("b", {}, found?.label ?? (view === "picture" ? "On the photograph" : "Place not known yet")),
      node("span", { class: "points__sub" }, node("span", { class: "points__side" }, screen.word("side", side)), side ? " · " : "", screen.word("plane", point.plane).toLowerCase())),
    node("td", {}, node("span", { class: "points__how" }, screen.word("technique", point.technique)),
      node("span", { class: "points__sub" }, `${instrumentText(screen, point)} · aspiration ${screen.word("aspiration", point.aspiration).toLowerCase()}`, point.by ? [" · by ", node("bdi", {}, point.by)] : null)),
    node("td", { class: "num" }, node("b", {}, formatAmount(point.amount, point.measure)), node("span", { class: "points__sub" }, point.unit_label), whereBadge(where)),
  );
}

function pointTable(screen, points) {
  const heads = ["No.", "Where", "How", "Amount, stored"].map((label, index) => node("th", { scope: "col", class: index === 3 ? "num" : null }, label));
  return node(
    "table", { class: "points" }, node("caption", { class: "visually-hidden" }, "Points of this session"),
    node("thead", {}, node("tr", {}, heads)), node("tbody", {}, points.map((point) => row(screen, point))),
  );
}

// Within the panel alone: where the panel does not scroll, the page must not, or the face would leave the screen.
function bringInto(panel, shown) {
  if (shown) {
    const [inside, box] = [shown.getBoundingClientRect(), panel.getBoundingClientRect()];
    panel.scrollTop += Math.min(0, inside.top - box.top) + Math.max(0, inside.bottom - box.bottom);
  }
}

export function attachPoints(screen, root) {
  let last = null;
  drawOnChange(screen, () => {
    const { points, units } = screen;
    const first = units.length ? "" : "Open a unit first. ";
    const how = screen.isOpen ? `${first}Each touch on the face logs one; so does each button under Regions.` : "";
    patch(root, heldLines(screen), points.length ? pointTable(screen, points) : empty("No point yet.", how, "", mistakeOffer(screen)));
    document.querySelector('[data-count="points"]').textContent = points.length;
    const newest = screen.chosen ?? points.at(-1)?.key ?? null;
    if (newest !== last) {
      last = newest;
      bringInto(root, root.querySelector(`[data-row="${newest}"]`));
    }
  });
  root.addEventListener("click", ({ target }) => {
    const pressed = target.closest("[data-row]");
    if (pressed && screen.isOpen) {
      screen.choose(pressed.dataset.row);
    }
  });
}

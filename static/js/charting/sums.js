// Running totals under the drawing, always in view: per product, then per region and side.

import { formatAmount } from "./amounts.js";
import { pluralOf } from "./dates.js";
import { drawOnChange, node, patch } from "./dom.js";

const SIDES = [["right", "R", "Right"], ["midline", "M", "Midline"], ["left", "L", "Left"]];

function productRow({ name, measure, amount, points }) {
  return node("li", {}, node("span", { class: "sums__label" }, name), " ",
    node("strong", { class: "num" }, formatAmount(amount, measure)), " ",
    node("span", { class: "quiet num" }, pluralOf(points, "point")));
}

function regionRow(row, several) {
  const sides = SIDES.filter(([side]) => row[side]).map(([side, letter, title]) => node(
    "span", {}, node("abbr", { title }, letter), " ", node("b", { class: "num" }, formatAmount(row[side], row.measure)),
  ));
  const of = several ? node("span", { class: "sums__of" }, row.product_name) : null;
  return node("li", {}, node("span", { class: "sums__label" }, row.label || "Place not known yet", of), node("span", { class: "sums__sides" }, sides));
}

export function totalsParts({ products, regions }) {
  return [
    node("ul", { class: "sums__products" }, products.map(productRow)),
    node("ul", { class: "sums__regions", tabindex: "0", "aria-label": "Per region and side" },
      regions.map((row) => regionRow(row, products.length > 1))),
  ];
}

// What to do while there is nothing to add up.
function nextStep({ isOpen, units }) {
  if (!isOpen) {
    return "No point.";
  }
  const first = units.length ? "Choose" : "Open a unit, as each point draws from one. Choose";
  return `${first} how it is given, then touch the face where it goes: each touch logs a point.`;
}

export function attachTotals(screen, root) {
  drawOnChange(screen, () => {
    const { state } = screen;
    if (!state) {
      return;
    }
    patch(root, state.totals.products.length ? totalsParts(state.totals) : node("p", { class: "sums__none" }, nextStep(screen)));
  });
}

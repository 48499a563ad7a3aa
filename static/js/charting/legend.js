// The code of marks: what ground, figure and ring say, so that nothing rests on colour alone.

import { drawOnChange, drawing, node, patch } from "./dom.js";

export function attachLegend(screen, root) {
  let drawn = false;
  drawOnChange(screen, () => {
    const { legend } = screen.app.reference;
    if (drawn || !legend) {
      return;
    }
    drawn = true;
    const groups = [...new Set(legend.map(({ group }) => group))];
    patch(root, groups.map((group) => node(
      "section", { class: "legend" }, node("h3", {}, group),
      node("ul", {}, legend.filter((row) => row.group === group).map(({ label, svg }) => node(
        "li", {}, drawing(svg, { class: "legend__mark", "aria-hidden": "true" }), node("span", {}, label),
      ))),
    )));
  });
}

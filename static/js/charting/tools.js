// What stands over the marks of the large drawing: the ring round the chosen one, the handle at the end of its reach, the
// cross of a held finger and that of the keyboard, the line of a fan or thread being drawn.

import { svgNode } from "./dom.js";
import { reachOf } from "./reach.js";

const CHOSEN = "#b0501f";
const AIM = "#1b5c57";

function ring() {
  return svgNode("g", { class: "face__ring", "data-ring": true },
    svgNode("circle", { r: 4.4, fill: "none", stroke: "#ffffff", "stroke-width": 1.9, "stroke-opacity": 0.85 }),
    svgNode("circle", { r: 4.4, fill: "none", stroke: CHOSEN, "stroke-width": 0.95 }));
}

function handle() {
  return svgNode("g", { class: "face__handle", "data-handle": true },
    svgNode("circle", { r: 2.6, fill: "#ffffff", stroke: CHOSEN, "stroke-width": 0.8 }),
    svgNode("circle", { r: 0.8, fill: CHOSEN }));
}

function cross(name, colour) {
  const d = "M-6 0H-1.2M1.2 0H6M0 -6V-1.2M0 1.2V6";
  return svgNode("g", { class: name, "data-cross": true },
    svgNode("path", { d, fill: "none", stroke: "#ffffff", "stroke-width": 1.7, "stroke-opacity": 0.85 }),
    svgNode("circle", { r: 2.4, fill: "none", stroke: "#ffffff", "stroke-width": 1.7, "stroke-opacity": 0.85 }),
    svgNode("path", { d, fill: "none", stroke: colour, "stroke-width": 0.6 }),
    svgNode("circle", { r: 2.4, fill: "none", stroke: colour, "stroke-width": 0.6 }));
}

export class Tools {
  constructor() {
    this.nodes = { ring: ring(), handle: handle(), cursor: cross("face__cursor", CHOSEN), aim: cross("face__aim", AIM) };
    this.line = svgNode("g", { class: "face__line" });
    this.seen = {};
  }

  // `name` at a place of the figure, or with null nowhere.
  put(name, figure, place) {
    const shown = this.nodes[name];
    const at = place ? figure.sight.toPaper(place) : null;
    const transform = at ? `translate(${at.x} ${at.y}) scale(${figure.markScale})` : "";
    const looks = `${figure.id} ${transform}`;
    if (this.seen[name] === looks) {
      return;
    }
    this.seen[name] = looks;
    if (at) {
      shown.setAttribute("transform", transform);
      // The ring lies under the marks, so that it hides no number.
      const layer = name === "ring" ? figure.under : figure.tools;
      if (shown.parentNode !== layer) {
        layer.append(shown);
      }
    } else {
      shown.remove();
    }
  }

  reach(figure, point) {
    this.line.replaceChildren(...(point ? reachOf(figure.sight, point, AIM, figure.markScale) : []));
    if (point && this.line.parentNode !== figure.tools) {
      figure.tools.append(this.line);
    }
  }
}

// The planned lines on a view, each a label inside its region: as planning/atlas/plan_marks.py draws them on paper. They
// lie under the marks and take no touch.

import { plain } from "./amounts.js";
import { svgNode } from "./dom.js";

const INK = "#1f2a30";
const FONT_MM = 3.3;
const HALF_HEIGHT_MM = 2.5;
const DIGIT_MM = 1.95;
const PADDING_MM = 1.7;
const SIGN_MM = 3.4;

function sign(state, colour) {
  if (state === "open" || state === "partly") {
    return [svgNode("circle", { r: 1.3, fill: "none", stroke: colour, "stroke-width": 0.4 }),
      ...(state === "partly" ? [svgNode("path", { d: "M0 -1.3A1.3 1.3 0 0 1 0 1.3Z", fill: colour })] : [])];
  }
  const more = state === "over" ? [svgNode("path", { d: "M1.3 0.6V2M0.6 1.3H2", stroke: colour, "stroke-width": 0.45 })] : [];
  return [svgNode("path", { d: "M-1.3 0.1L-0.4 1.1L1.4 -1.2", fill: "none", stroke: colour, "stroke-width": 0.6, "stroke-linecap": "round", "stroke-linejoin": "round" }), ...more];
}

function label(line, at, scale, colour) {
  const text = plain(line.amount, line.measure);
  const half = (DIGIT_MM * text.length + SIGN_MM) / 2 + PADDING_MM;
  const isFull = line.state === "done" || line.state === "over";
  return svgNode("g", { class: `plan-mark plan-mark--${line.state}`, "data-target": line.key, transform: `translate(${at.x} ${at.y}) scale(${scale})` },
    svgNode("rect", {
      x: -half, y: -HALF_HEIGHT_MM, width: 2 * half, height: 2 * HALF_HEIGHT_MM, rx: HALF_HEIGHT_MM, fill: "#ffffff", "fill-opacity": 0.9,
      stroke: colour, "stroke-width": 0.45, ...(isFull ? {} : { "stroke-dasharray": "1.3 0.8" }),
    }),
    svgNode("g", { transform: `translate(${-half + PADDING_MM + 1.1} 0)` }, ...sign(line.state, colour)),
    svgNode("text", { x: -half + PADDING_MM + SIGN_MM, y: 1.15, "font-size": FONT_MM, fill: INK }, text));
}

export class Targets {
  constructor(sight, pieces) {
    Object.assign(this, { sight, pieces, looks: "" });
    this.group = svgNode("g", { class: "marks marks--targets", "data-marks": "plan", "aria-hidden": "true" });
  }

  // Drawn anew only when one of them, the sight or the scale changed.
  draw(lines, scale) {
    const looks = `${scale} ${this.sight.fit.x} ${this.sight.fit.y} ${lines.map(({ key, state, amount }) => `${key}${state}${amount}`)}`;
    if (looks === this.looks) {
      return;
    }
    this.looks = looks;
    this.group.replaceChildren(...lines.map((line) => label(line, this.sight.toPaper(line), scale, this.pieces.colour(line.kind))));
  }
}

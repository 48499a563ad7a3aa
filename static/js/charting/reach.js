// Where a fan or thread runs, from where the needle went in: direction and length in millimetres of the chart, lines as
// wide as they are on the screen. A thread laid while drawing back ends in a bar, one laid ahead in an arrow.

import { svgNode } from "./dom.js";

// Shorter than this a drag was a tap.
const LEAST_DMM = 10;
const FAN_HALF_ANGLE = Math.PI / 6;

export function hasReach({ reach_x_dmm: x, reach_y_dmm: y }) {
  return x !== null && x !== undefined && y !== null && y !== undefined;
}

// Length in tenths of a millimetre.
export function reachLength({ x_dmm, y_dmm, reach_x_dmm, reach_y_dmm }) {
  return Math.hypot(reach_x_dmm - x_dmm, reach_y_dmm - y_dmm);
}

// {reach_x_dmm, reach_y_dmm} of a way from a place to another, null for one too short to be meant.
export function reachTo(place, end) {
  const reach = { reach_x_dmm: end?.x_dmm ?? null, reach_y_dmm: end?.y_dmm ?? null };
  const isMeant = end && reachLength({ ...place, ...reach }) >= LEAST_DMM;
  return isMeant ? reach : { reach_x_dmm: null, reach_y_dmm: null };
}

function turned(from, to, turn) {
  const [x, y] = [to.x - from.x, to.y - from.y];
  const [cos, sin] = [Math.cos(turn), Math.sin(turn)];
  return { x: from.x + x * cos - y * sin, y: from.y + x * sin + y * cos };
}

const written = ({ x, y }) => `${x} ${y}`;

// The sector with its middle line.
function fan(from, to) {
  const length = Math.hypot(to.x - from.x, to.y - from.y);
  const corner = (turn) => written(turned(from, to, turn));
  const sector = `M${written(from)}L${corner(-FAN_HALF_ANGLE)}A${length} ${length} 0 0 1 ${corner(FAN_HALF_ANGLE)}Z`;
  return `${sector}M${written(from)}L${written(to)}`;
}

// The straight lines of a reach in millimetres of the paper, which numbers keep clear of: [[from, to], ...].
export function stretchesOf(sight, point) {
  if (!hasReach(point)) {
    return [];
  }
  const from = sight.toPaper(point);
  const to = sight.toPaper({ x_dmm: point.reach_x_dmm, y_dmm: point.reach_y_dmm });
  const sides = point.technique === "fanning" ? [-FAN_HALF_ANGLE, FAN_HALF_ANGLE] : [];
  return [[from, to], ...sides.map((turn) => [from, turned(from, to, turn)])];
}

function end(technique, to, angle, size) {
  const at = (turn, length) => `${to.x + length * Math.cos(angle + turn)} ${to.y + length * Math.sin(angle + turn)}`;
  if (technique === "linear_anterograde") {
    return `M${at(2.6, size * 1.3)}L${to.x} ${to.y}L${at(-2.6, size * 1.3)}`;
  }
  return `M${at(Math.PI / 2, size)}L${at(-Math.PI / 2, size)}`;
}

// SVG nodes in millimetres of the paper; none without a reach.
export function reachOf(sight, point, colour, scale) {
  if (!hasReach(point)) {
    return [];
  }
  const from = sight.toPaper(point);
  const to = sight.toPaper({ x_dmm: point.reach_x_dmm, y_dmm: point.reach_y_dmm });
  const line = { fill: "none", stroke: colour, "stroke-linecap": "round" };
  if (point.technique === "fanning") {
    return [svgNode("path", { d: fan(from, to), ...line, fill: colour, "fill-opacity": 0.16, "stroke-width": 0.35 * scale, "stroke-linejoin": "round" })];
  }
  const angle = Math.atan2(to.y - from.y, to.x - from.x);
  const d = `M${from.x} ${from.y}L${to.x} ${to.y}`;
  return [
    svgNode("path", { d, ...line, stroke: "#ffffff", "stroke-width": 1.3 * scale, "stroke-opacity": 0.75 }),
    svgNode("path", { d: d + end(point.technique, to, angle, 1.5 * scale), ...line, "stroke-width": 0.6 * scale, "stroke-linejoin": "round" }),
  ];
}

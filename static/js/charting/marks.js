// The marks of one view. Each is made once from the reference's pieces (the same as the printed note's) and afterwards
// only changed where it differs; its group stands at the point and is scaled so that it keeps its size on the screen.

import { formatAmount, plain } from "./amounts.js";
import { svgNode } from "./dom.js";
import { FONT_MM, placeAmounts, placeLabels } from "./labels.js";
import { reachOf, stretchesOf } from "./reach.js";

const NAMESPACE = "http://www.w3.org/2000/svg";
const INK = "#1f2a30";

// Pieces parsed once: "ground/ha_filler" -> <g>, cloned for each mark.
export class Pieces {
  constructor(reference) {
    Object.assign(this, { marks: reference.marks, colours: reference.marks.colour, parsed: new Map() });
  }

  colour(kind) {
    return this.colours[kind] ?? INK;
  }

  copy(kind, technique, plane) {
    const name = `${kind}/${technique}/${plane}`;
    if (!this.parsed.has(name)) {
      const { ground, figure, ring } = this.marks;
      const inner = (ground[kind] ?? "") + (figure[`${kind}/${technique}`] ?? "") + (ring[`${kind}/${plane}`] ?? "");
      const page = new DOMParser().parseFromString(`<g xmlns="${NAMESPACE}">${inner}</g>`, "image/svg+xml");
      this.parsed.set(name, document.importNode(page.documentElement, true));
    }
    return this.parsed.get(name).cloneNode(true);
  }
}

// Where a point is kept, by shape: dotted halo on the tablet alone, a sign when a person has to look, plain in the clinic.
function halo(where) {
  if (where === "tablet") {
    return svgNode("circle", {
      class: "mark__halo", r: 3.25, fill: "none", stroke: INK, "stroke-width": 0.5, "stroke-dasharray": "0.01 1.26", "stroke-linecap": "round",
    });
  }
  if (where === "attention" || where === "memory") {
    return svgNode("g", { class: "mark__halo" },
      svgNode("circle", { r: 3.2, fill: "none", stroke: "#a11d2d", "stroke-width": 0.5 }),
      svgNode("path", { d: "M2.6 -4.9L4.9 -0.9H0.3Z", fill: "#a11d2d", stroke: "#ffffff", "stroke-width": 0.35 }),
      svgNode("path", { d: "M2.6 -3.7V-2.4M2.6 -1.75V-1.6", fill: "none", stroke: "#ffffff", "stroke-width": 0.5, "stroke-linecap": "round" }));
  }
  return null;
}

function text(className, size, colour) {
  return svgNode("text", {
    class: className, "font-size": size, "text-anchor": "middle", fill: colour,
    stroke: "#ffffff", "stroke-width": 0.9, "stroke-linejoin": "round", "paint-order": "stroke",
  });
}

function sign(marking) {
  const isGiven = Boolean(marking.point);
  const inner = isGiven ? "M-1 0.1L-0.3 0.9L1.1 -0.8" : "M-0.9 0H0.9M0 -0.9V0.9";
  return svgNode("g", {},
    svgNode("path", {
      d: "M0 -2.7L2.7 0L0 2.7L-2.7 0Z", fill: "#ffffff", "fill-opacity": isGiven ? 0.6 : 0.92, stroke: INK, "stroke-width": 0.4,
      "stroke-dasharray": isGiven ? "none" : "1.15 0.75",
    }),
    svgNode("path", { d: inner, fill: "none", stroke: INK, "stroke-width": 0.5, "stroke-linecap": "round" }));
}

// One mark on the drawing. `what` is {key, kind, technique, plane, number, where, title, amount} or a marking.
class MarkNode {
  constructor(attribute, key) {
    this.title = svgNode("title");
    this.reach = svgNode("g", { class: "mark__reach" });
    this.leader = svgNode("path", { class: "mark__leader", fill: "none", "stroke-width": 0.25 });
    this.body = svgNode("g");
    this.number = text("mark__number", FONT_MM, INK);
    this.amount = text("mark__amount", 3.2, INK);
    this.at = svgNode("g", {}, this.leader, this.body, this.number);
    this.root = svgNode("g", { [attribute]: key }, this.title, this.reach, this.at);
    this.seen = {};
  }

  // Whether `value` is new under `name`.
  isNew(name, value) {
    const changed = this.seen[name] !== value;
    this.seen[name] = value;
    return changed;
  }

  stand(sight, scale, place) {
    const { x, y } = sight.toPaper(place);
    if (this.isNew("at", `${x} ${y} ${scale}`)) {
      this.at.setAttribute("transform", `translate(${x} ${y}) scale(${scale})`);
    }
  }

  label(label, amountAt, middle, scale, word) {
    const [x, y] = [(label.x - middle.x) / scale, (label.y - middle.y) / scale];
    if (this.isNew("label", `${label.label} ${x.toFixed(2)} ${y.toFixed(2)} ${label.far}`)) {
      this.number.textContent = label.label;
      this.number.setAttribute("x", x);
      this.number.setAttribute("y", y + FONT_MM * 0.35);
      this.leader.setAttribute("d", label.far ? `M0 0L${x} ${y}` : "");
    }
    const at = amountAt ? [(amountAt.x - middle.x) / scale, (amountAt.y - middle.y) / scale] : null;
    if (this.isNew("amount", at ? `${word} ${at[0].toFixed(2)} ${at[1].toFixed(2)}` : "")) {
      if (at) {
        this.amount.textContent = word;
        this.amount.setAttribute("x", at[0]);
        this.amount.setAttribute("y", at[1] + 1.1);
        this.at.append(this.amount);
      } else {
        this.amount.remove();
      }
    }
  }
}

export class Marks {
  // describe(point) gives the sentence read out and shown on hover.
  constructor(sight, pieces, describe) {
    Object.assign(this, { sight, pieces, describe, scale: 1, points: [], markings: [] });
    this.earlierGroup = svgNode("g", { class: "marks marks--earlier", "data-marks": "earlier" });
    this.plannedGroup = svgNode("g", { class: "marks marks--planned", "data-marks": "planned" });
    this.todayGroup = svgNode("g", { class: "marks marks--today", "data-marks": "today" });
    this.nodes = new Map();
    this.earlier = null;
  }

  get groups() {
    return [this.earlierGroup, this.plannedGroup, this.todayGroup];
  }

  // Bring the drawing to what is shown; only what differs is touched.
  draw({ points, markings, chosen, scale, earlier }) {
    Object.assign(this, { points, markings, scale });
    const keys = new Set([...points, ...markings].map(({ key }) => key));
    for (const [key, mark] of this.nodes) {
      if (!keys.has(key)) {
        mark.root.remove();
        this.nodes.delete(key);
      }
    }
    for (const point of points) {
      this.drawPoint(point, point.key === chosen);
    }
    for (const marking of markings) {
      this.drawMarking(marking);
    }
    this.drawLabels();
    this.drawEarlier(earlier);
  }

  find(attribute, key, group) {
    let mark = this.nodes.get(key);
    if (!mark) {
      mark = new MarkNode(attribute, key);
      this.nodes.set(key, mark);
      group.append(mark.root);
    }
    return mark;
  }

  drawPoint(point, isChosen) {
    const mark = this.find("data-point", point.key, this.todayGroup);
    const { kind, technique, plane, number, where } = point;
    if (mark.isNew("looks", `${kind}/${technique}/${plane}/${where}`)) {
      const circle = halo(where);
      mark.body.replaceChildren(this.pieces.copy(kind, technique, plane), ...(circle ? [circle] : []));
      const colour = this.pieces.colour(kind);
      mark.number.setAttribute("fill", colour);
      mark.amount.setAttribute("fill", colour);
      mark.leader.setAttribute("stroke", colour);
      mark.root.dataset.where = where;
      mark.root.dataset.technique = technique;
      mark.root.dataset.plane = plane;
    }
    if (mark.isNew("class", `mark mark-${kind}${isChosen ? " is-chosen" : ""}`)) {
      mark.root.setAttribute("class", mark.seen.class);
    }
    const said = this.describe(point);
    if (mark.isNew("said", said)) {
      mark.title.textContent = said;
      mark.root.dataset.number = number;
    }
    this.place(mark, point);
  }

  place(mark, point) {
    mark.stand(this.sight, this.scale, point);
    const { x_dmm, y_dmm, reach_x_dmm: toX, reach_y_dmm: toY, technique, kind } = point;
    const looks = `${x_dmm} ${y_dmm} ${toX} ${toY} ${technique} ${kind} ${this.scale} ${this.sight.fit.x} ${this.sight.fit.y}`;
    if (mark.isNew("reach", looks)) {
      mark.reach.replaceChildren(...reachOf(this.sight, point, this.pieces.colour(kind), this.scale));
    }
  }

  drawMarking(marking) {
    const mark = this.find("data-marking", marking.key, this.plannedGroup);
    if (mark.isNew("looks", String(marking.point))) {
      mark.body.replaceChildren(sign(marking));
      mark.root.setAttribute("class", `mark mark--planned${marking.point ? " is-given" : ""}`);
      mark.leader.setAttribute("stroke", INK);
    }
    if (mark.isNew("said", marking.label)) {
      mark.title.textContent = `Marking ${marking.label}${marking.point ? ", given" : ""}`;
      mark.root.dataset.number = marking.label;
    }
    mark.stand(this.sight, this.scale, marking);
  }

  drawLabels() {
    const all = [...this.points, ...this.markings];
    const middles = all.map((each) => this.sight.toPaper(each));
    const places = all.map((each, index) => [middles[index].x, middles[index].y, String(each.label ?? each.number)]);
    const words = all.map(({ technique, amount, measure }) => (technique === "bolus" ? plain(amount, measure) : ""));
    const lines = this.points.flatMap((point) => stretchesOf(this.sight, point));
    const labels = placeLabels(places, this.scale, lines);
    const amounts = placeAmounts(places, labels, words, this.scale, lines);
    all.forEach(({ key }, index) => {
      this.nodes.get(key).label(labels[index], amounts[index], middles[index], this.scale, words[index]);
    });
  }

  // Last session's points stand still: drawn again only when they, the sight or the scale change.
  drawEarlier(points) {
    const looks = points && `${points.length} ${this.scale} ${this.sight.fit.x} ${this.sight.fit.y}`;
    if (this.earlier === points && this.earlierLooks === looks) {
      return;
    }
    Object.assign(this, { earlier: points, earlierLooks: looks });
    const nodes = (points ?? []).map((point) => {
      const { x, y } = this.sight.toPaper(point);
      const at = svgNode("g", { transform: `translate(${x} ${y}) scale(${this.scale * 0.85})` },
        this.pieces.copy(point.kind, point.technique, point.plane));
      const said = `Last session, point ${point.number}: ${formatAmount(point.amount, point.measure)}`;
      const reach = reachOf(this.sight, point, INK, this.scale);
      return svgNode("g", { class: "mark" }, svgNode("title", {}, said), ...reach, at);
    });
    this.earlierGroup.replaceChildren(...nodes);
  }

  // While a finger drags it: the mark alone, without labels of others.
  moveLive(point) {
    const mark = this.nodes.get(point.key);
    if (mark) {
      this.place(mark, point);
    }
  }
}

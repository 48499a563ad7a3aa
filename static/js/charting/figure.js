// One view: its drawing, fetched once for all patients, and over it the marks in a layer of their own, so that a new
// mark never paints the face again.

import { node, svgNode } from "./dom.js";
import { Marks } from "./marks.js";
import { RegionMap } from "./region_of.js";
import { Sight } from "./sight.js";
import { Targets } from "./targets.js";

// Numbers are 12.5 CSS pixels high on the large drawing, marks 16 across, however near it is; marks of the small ones 8.
const PIXELS_PER_UNIT = 12.5 / 3.6;
const SMALL_PIXELS_PER_UNIT = 1.7;
const AGAIN_MS = 3000;
const drawings = new Map();

// The text of a drawing; asks again until it is there, and says so meanwhile.
async function fetchDrawing(url, onMissing) {
  for (;;) {
    try {
      const response = await fetch(url, { redirect: "manual" });
      if (response.ok) {
        return await response.text();
      }
    } catch {
      // no network, and the tablet does not keep it yet
    }
    onMissing();
    await new Promise((resolve) => setTimeout(resolve, AGAIN_MS));
  }
}

function drawingOf(url, onMissing) {
  if (!drawings.has(url)) {
    drawings.set(url, fetchDrawing(url, onMissing));
  }
  return drawings.get(url);
}

export class Figure {
  // view: {key, label, sides, box, drawings} of the reference, or a photograph's with `image` and `picture`.
  constructor(view, pieces, describe, midlineHalfWidth) {
    Object.assign(this, { view, midlineHalfWidth, sight: new Sight(view.box), regions: null, isLarge: false, url: "" });
    this.id = view.picture ? `picture-${view.picture}` : view.key;
    this.marks = new Marks(this.sight, pieces, describe);
    this.targets = new Targets(this.sight, pieces);
    this.under = svgNode("g", { class: "face__tools" });
    this.tools = svgNode("g", { class: "face__tools" });
    this.overlay = svgNode("svg", { class: "face__marks", "data-overlay": true, "aria-label": `Face chart: ${view.label}` },
      this.targets.group, this.under, ...this.marks.groups, this.tools);
    this.paper = node("div", { class: "face__paper" });
    this.count = node("span", { class: "view__count" });
    this.button = node("button", { class: "view__show", type: "button", "data-show": this.id, "aria-pressed": "false" },
      `${view.label} `, this.count);
    this.root = node("figure", { class: "view", "data-figure": this.id }, this.overlay, this.paper,
      node("figcaption", { class: "view__caption" }, this.button));
    // Keeps the place of the large one in the column, so that no other view moves under the finger.
    this.here = node("p", { class: "view__here", "aria-hidden": "true" }, view.label);
  }

  // Which outline, and scaled by how much; the drawing comes when it is there.
  async dress(jaw, fit) {
    this.setFit(fit);
    if (this.view.image) {
      await this.dressPicture();
      return;
    }
    const url = this.view.drawings[jaw] ?? this.view.drawings.average;
    if (url === this.url) {
      return;
    }
    this.url = url;
    const text = await drawingOf(url, () => this.sayMissing());
    if (this.url !== url) {
      return;
    }
    this.paper.innerHTML = text;
    const svg = this.paper.querySelector("svg");
    svg.setAttribute("viewBox", this.view.box.join(" "));
    const face = svgNode("g", {}, ...[...svg.childNodes].filter((child) => !child.classList?.contains("atlas-grid")));
    svg.prepend(face);
    Object.assign(this, { drawing: svg, face, regions: RegionMap.ofDrawing(svg, this.midlineHalfWidth), drawnUrl: url });
    this.applyFit();
  }

  async dressPicture() {
    if (!this.drawing) {
      const [x, y, width, height] = this.view.box;
      const image = svgNode("image", { x, y, width, height, preserveAspectRatio: "none" });
      this.drawing = svgNode("svg", { viewBox: this.view.box.join(" ") }, image);
      this.paper.replaceChildren(this.drawing);
      image.setAttribute("href", await this.view.image());
    }
  }

  sayMissing() {
    if (!this.drawing) {
      this.paper.textContent = "The drawing cannot be loaded now. Trying again …";
    }
  }

  // As planning/atlas/fit.py: a profile is stretched downwards alone, neck, hands and photograph are not.
  setFit({ x, y }) {
    const { key } = this.view;
    const isProfile = key === "right" || key === "left";
    const fit = { x: key === "front" ? x / 1000 : 1, y: key === "front" || isProfile ? y / 1000 : 1 };
    if (fit.x !== this.sight.fit.x || fit.y !== this.sight.fit.y) {
      this.sight.fit = fit;
      this.applyFit();
    }
  }

  applyFit() {
    const { x, y } = this.sight.fit;
    this.face?.setAttribute("transform", `scale(${x} ${y})`);
  }

  // Read from the page, and only when its size may have changed.
  measure() {
    this.setSize(this.overlay.clientWidth, this.overlay.clientHeight);
  }

  setSize(width, height) {
    if (width && height) {
      this.sight.pixels = { width, height };
      this.look();
    }
  }

  get isMeasured() {
    return this.sight.pixels.width > 0;
  }

  // Millimetres of paper for one millimetre of a mark.
  get markScale() {
    const least = this.isLarge ? Math.max(PIXELS_PER_UNIT, this.sight.base) : SMALL_PIXELS_PER_UNIT;
    return least / this.sight.scale;
  }

  look() {
    this.overlay.setAttribute("viewBox", this.sight.seen.join(" "));
    if (this.sight.zoom === 1) {
      this.paper.style.removeProperty("transform");
    } else {
      this.paper.style.transform = this.sight.transform;
    }
  }

  // Where a place lies: {region, side}, empty on a photograph, null off the drawing or while there is none.
  regionAt({ x_dmm, y_dmm }) {
    if (this.view.image) {
      const [, , width, height] = this.view.box;
      const isOn = x_dmm >= 0 && y_dmm >= 0 && x_dmm <= width * 10 && y_dmm <= height * 10;
      return isOn ? { region: "", side: "" } : null;
    }
    return this.regions?.at(x_dmm, y_dmm) ?? null;
  }

  // As regionAt, and null too while the drawing in sight is not the one of this jaw.
  locate(x, y, jaw) {
    const url = this.view.drawings?.[jaw] ?? this.view.drawings?.average;
    return url && url === this.drawnUrl ? (this.regions?.at(x, y) ?? null) : null;
  }

  isOf({ view, picture }) {
    return view === this.view.key && (picture ?? null) === (this.view.picture ?? null);
  }
}

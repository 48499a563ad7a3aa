// The picture with its handles and the magnifier: a finger moves the handle it is near, keeping its distance, so that
// the place itself stays in sight; arrow keys move by a pixel, with Shift by ten. Two handles are joined by a line.

import { node, svgNode } from "./dom.js";

const REACH_PX = 48;
const MAGNIFIED_PX = 132;
const ENLARGED = 3;
const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const NAMES = ["First point", "Second point"];

function imageOf({ width, height }, href) {
  return svgNode("image", { href, width, height, preserveAspectRatio: "none" });
}

function handle(name, index) {
  return svgNode("g", { class: "scale__handle", role: "slider", tabindex: "0", "data-handle": index, "aria-label": name },
    svgNode("circle", { class: "scale__reach", r: 22 }), svgNode("circle", { class: "scale__rim", r: 13 }),
    svgNode("path", { class: "scale__cross", d: "M-13 0H-3M13 0H3M0 -13V-3M0 13V3" }));
}

export class ScaleStage {
  // places: an {x, y} for each name, in the picture's pixels, or null where a touch is still to set it; onChange() after
  // each move.
  constructor({ picture, href, places, onChange, names = NAMES }) {
    Object.assign(this, { picture, places, onChange, chosen: 0, held: null });
    const { width, height } = picture;
    this.line = svgNode("line", { class: "scale__line" });
    this.handles = names.map(handle);
    this.svg = svgNode("svg", { class: "scale__picture", viewBox: `0 0 ${width} ${height}`, "data-scale-picture": true },
      imageOf(picture, href), this.line, ...this.handles);
    this.glass = svgNode("svg", { class: "scale__glass", "aria-hidden": "true" }, imageOf(picture, href), svgNode("path", { class: "scale__aim" }));
    this.root = node("div", { class: "scale__stage" }, this.svg, this.glass);
    this.svg.addEventListener("pointerdown", (event) => this.down(event));
    this.svg.addEventListener("pointermove", (event) => this.move(event));
    ["pointerup", "pointercancel"].forEach((name) => this.svg.addEventListener(name, () => (this.held = null)));
    this.svg.addEventListener("keydown", (event) => this.key(event));
    this.svg.addEventListener("focusin", ({ target }) => this.choose(Number(target.closest("[data-handle]")?.dataset.handle ?? this.chosen)));
    this.sizes = new ResizeObserver(() => this.draw());
    this.sizes.observe(this.svg);
  }

  // Picture pixels for one CSS pixel.
  get grain() {
    return 1 / (this.svg.getScreenCTM()?.a || 1);
  }

  at({ clientX, clientY }) {
    return new DOMPoint(clientX, clientY).matrixTransform(this.svg.getScreenCTM().inverse());
  }

  down(event) {
    if (!event.isPrimary || event.button !== 0) {
      return;
    }
    event.preventDefault();
    const at = this.at(event);
    const far = this.places.map((place) => (place ? Math.hypot(place.x - at.x, place.y - at.y) / this.grain : Infinity));
    const near = far.indexOf(Math.min(...far));
    // One that is still to be set is set, near to another one too.
    const isGrabbed = this.places[this.chosen] !== null && far[near] <= REACH_PX;
    this.choose(isGrabbed ? near : this.chosen);
    const { x, y } = this.places[this.chosen] ?? at;
    this.held = isGrabbed ? { x: x - at.x, y: y - at.y } : { x: 0, y: 0 };
    this.svg.setPointerCapture(event.pointerId);
    this.move(event);
    this.handles[this.chosen].focus({ preventScroll: true });
  }

  move(event) {
    if (this.held && event.isPrimary) {
      const at = this.at(event);
      this.put(at.x + this.held.x, at.y + this.held.y);
    }
  }

  key(event) {
    const step = STEPS[event.key];
    if (step && event.target.closest("[data-handle]")) {
      event.preventDefault();
      this.nudge(...step.map((by) => by * (event.shiftKey ? 10 : 1)));
    }
  }

  nudge(byX, byY) {
    const { x, y } = this.places[this.chosen];
    this.put(x + byX, y + byY);
  }

  put(x, y) {
    const { width, height } = this.picture;
    const within = (value, most) => Math.max(0, Math.min(most - 1, Math.round(value)));
    this.places[this.chosen] = { x: within(x, width), y: within(y, height) };
    this.draw();
    this.onChange();
  }

  choose(index) {
    if (this.chosen !== index) {
      this.chosen = index;
      this.draw();
      this.onChange();
    }
  }

  draw() {
    const { places, grain } = this;
    if (places.length === 2) {
      const [one, other] = places;
      Object.entries({ x1: one.x, y1: one.y, x2: other.x, y2: other.y, "stroke-width": 2 * grain })
        .forEach(([name, value]) => this.line.setAttribute(name, value));
    }
    places.forEach((place, index) => {
      const drawn = this.handles[index];
      drawn.classList.toggle("is-unset", !place);
      if (!place) {
        return;
      }
      const { x, y } = place;
      drawn.setAttribute("transform", `translate(${x} ${y}) scale(${grain})`);
      drawn.setAttribute("aria-valuenow", x);
      drawn.setAttribute("aria-valuetext", `${x} pixels from the left, ${y} from the top`);
      drawn.classList.toggle("is-chosen", index === this.chosen);
    });
    this.glass.classList.toggle("is-unset", !places[this.chosen]);
    if (places[this.chosen]) {
      this.drawGlass(places[this.chosen], grain);
    }
  }

  // What is under the chosen handle, three times as large, in the corner away from it.
  drawGlass({ x, y }, grain) {
    const size = (MAGNIFIED_PX * grain) / ENLARGED;
    const arm = size * 0.32;
    this.glass.setAttribute("viewBox", `${x - size / 2} ${y - size / 2} ${size} ${size}`);
    const aim = this.glass.lastElementChild;
    aim.setAttribute("d", `M${x - arm} ${y}H${x - arm / 3}M${x + arm} ${y}H${x + arm / 3}M${x} ${y - arm}V${y - arm / 3}M${x} ${y + arm}V${y + arm / 3}`);
    aim.setAttribute("stroke-width", size / 66);
    this.glass.classList.toggle("is-left", x > this.picture.width / 2);
  }

  close() {
    this.sizes.disconnect();
  }
}

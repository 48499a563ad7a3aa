// Which drawing is large, and how near it is. An enlarged one is moved by dragging it.

import { Sight } from "../charting/sight.js";

const STEP = 1.5;

export class Views {
  constructor(root) {
    this.root = root;
    this.sights = new Map();
    for (const figure of root.querySelectorAll("[data-figure]")) {
      const { x, y, width, height } = figure.querySelector("svg").viewBox.baseVal;
      this.sights.set(figure, new Sight([x, y, width, height]));
    }
    root.addEventListener("click", (event) => this.pressed(event));
    root.addEventListener("pointerdown", (event) => this.hold(event));
    root.addEventListener("pointermove", (event) => this.drag(event));
    for (const end of ["pointerup", "pointercancel"]) {
      root.addEventListener(end, () => {
        this.held = null;
      });
    }
    this.show(root.querySelector("[data-figure]"));
  }

  get sight() {
    return this.sights.get(this.figure);
  }

  show(figure) {
    if (this.figure) {
      this.sight.whole();
      this.look();
    }
    this.figure = figure;
    for (const each of this.sights.keys()) {
      each.classList.toggle("is-shown", each === figure);
      each.querySelector("[data-show]").setAttribute("aria-pressed", String(each === figure));
    }
    this.root.querySelector("[data-side-start]").textContent = figure.dataset.start;
    this.root.querySelector("[data-side-end]").textContent = figure.dataset.end;
    this.look();
  }

  pressed(event) {
    const button = event.target.closest("[data-show], [data-zoom]");
    if (button?.dataset.show) {
      this.show(button.closest("[data-figure]"));
    } else if (button) {
      this.measure();
      const { width, height } = this.sight.pixels;
      this.sight.zoomAt({ x: width / 2, y: height / 2 }, button.dataset.zoom === "in" ? STEP : 1 / STEP);
      this.look();
    }
  }

  measure() {
    this.sight.pixels = { width: this.figure.clientWidth, height: this.figure.clientHeight };
  }

  look() {
    const isNear = this.sight.zoom > 1;
    this.figure.querySelector(".face__paper").style.transform = isNear ? this.sight.transform : "";
    this.root.classList.toggle("face--near", isNear);
    this.root.querySelector('[data-zoom="out"]').disabled = !isNear;
  }

  hold(event) {
    if (event.isPrimary && this.sight.zoom > 1 && this.figure.contains(event.target) && !event.target.closest("button")) {
      this.held = { x: event.clientX, y: event.clientY };
      this.figure.setPointerCapture(event.pointerId);
    }
  }

  drag({ clientX: x, clientY: y }) {
    if (this.held) {
      this.sight.panBy(x - this.held.x, y - this.held.y);
      this.held = { x, y };
      this.look();
    }
  }
}

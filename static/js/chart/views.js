// Which drawing is large, what lies over it, and how near it is.

const STEPS = [1, 1.5, 2.2, 3.2];
const SIDES = { front: ["Patient’s right", "Patient’s left"], right: ["Back", "Front"], left: ["Front", "Back"] };

export class Views {
  constructor(root) {
    this.root = root;
    this.step = 0;
    this.boxes = new Map();
    for (const svg of root.querySelectorAll("[data-figure] svg")) {
      const { x, y, width, height } = svg.viewBox.baseVal;
      this.boxes.set(svg, { x, y, width, height });
    }
    root.addEventListener("click", (event) => this.pressed(event));
    this.show(root.dataset.shown);
  }

  get shown() {
    return this.root.dataset.shown;
  }

  get svg() {
    return this.root.querySelector(`[data-figure="${this.shown}"] svg`);
  }

  get isNear() {
    return this.step > 0;
  }

  show(view) {
    this.zoom(0);
    this.root.dataset.shown = view;
    for (const button of this.root.querySelectorAll("[data-show]")) {
      button.setAttribute("aria-pressed", String(button.dataset.show === view));
    }
    const [start, end] = SIDES[view];
    this.root.querySelector("[data-side-start]").textContent = start;
    this.root.querySelector("[data-side-end]").textContent = end;
  }

  pressed(event) {
    const button = event.target.closest("[data-show], [data-layer], [data-zoom]");
    if (!button) {
      return;
    }
    if (button.dataset.show) {
      this.show(button.dataset.show);
    } else if (button.dataset.layer) {
      const on = button.getAttribute("aria-pressed") !== "true";
      button.setAttribute("aria-pressed", String(on));
      this.root.classList.toggle(`views--${button.dataset.layer}`, on);
    } else {
      this.zoom(this.step + (button.dataset.zoom === "in" ? 1 : -1));
    }
  }

  zoom(step) {
    this.step = Math.max(0, Math.min(STEPS.length - 1, step));
    const whole = this.boxes.get(this.svg);
    const now = this.svg.viewBox.baseVal;
    const [width, height] = [whole.width / STEPS[this.step], whole.height / STEPS[this.step]];
    this.look(now.x + (now.width - width) / 2, now.y + (now.height - height) / 2, width, height);
    this.root.classList.toggle("views--near", this.isNear);
    this.root.querySelector('[data-zoom="out"]').disabled = !this.isNear;
    this.root.querySelector('[data-zoom="in"]').disabled = this.step === STEPS.length - 1;
  }

  // Move the sight by millimetres; it stays inside the whole drawing.
  pan(x, y) {
    const now = this.svg.viewBox.baseVal;
    this.look(now.x + x, now.y + y, now.width, now.height);
  }

  look(x, y, width, height) {
    const whole = this.boxes.get(this.svg);
    const left = Math.max(whole.x, Math.min(x, whole.x + whole.width - width));
    const top = Math.max(whole.y, Math.min(y, whole.y + whole.height - height));
    this.svg.setAttribute("viewBox", `${left} ${top} ${width} ${height}`);
  }
}

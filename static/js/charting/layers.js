// What is laid over the drawing, remembered by this tablet: nothing of a patient is in it.

const STORE = "charting-layers";
const LAYERS = [
  { key: "landmarks", label: "Landmarks", on: false },
  { key: "vessels", label: "Vessels to beware of", on: false },
  { key: "regions", label: "Regions", on: false },
  { key: "grid", label: "5 mm grid", on: false },
  { key: "plan", label: "Plan and markings", on: true },
  { key: "today", label: "Today’s points", on: true },
  { key: "last", label: "Last session’s points", on: false },
];

function remembered() {
  try {
    return JSON.parse(localStorage.getItem(STORE)) ?? {};
  } catch {
    return {};
  }
}

export class Layers {
  // root gets the class "face--<layer>" for each that is on; onChange() after each press.
  constructor(root, menu, onChange) {
    const before = remembered();
    this.shown = Object.fromEntries(LAYERS.map(({ key, on }) => [key, before[key] ?? on]));
    Object.assign(this, { root, menu, onChange });
    menu.addEventListener("click", (event) => {
      const button = event.target.closest("[data-layer]");
      if (button) {
        this.set(button.dataset.layer, !this.shown[button.dataset.layer]);
      }
    });
    this.show();
  }

  isOn(key) {
    return this.shown[key];
  }

  set(key, on) {
    this.shown[key] = on;
    try {
      localStorage.setItem(STORE, JSON.stringify(this.shown));
    } catch {
      // storage refused: remembered until the page goes
    }
    this.show();
    this.onChange();
  }

  // What there is nothing of cannot be shown.
  offer(key, isThere) {
    this.menu.querySelector(`[data-layer="${key}"]`).disabled = !isThere;
  }

  show() {
    for (const { key } of LAYERS) {
      this.root.classList.toggle(`face--${key}`, this.shown[key]);
    }
    for (const button of this.menu.querySelectorAll("[data-layer]")) {
      button.setAttribute("aria-pressed", String(this.shown[button.dataset.layer]));
    }
  }
}

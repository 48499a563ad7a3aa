// What to be careful of where the needle is: the region's caution and the vessels close by, each with its source. It
// follows a held finger, the chosen point or the last one of the view in sight, and never stands in the way of a touch.

import { icon, node, patch } from "./dom.js";
import { depthOf, linesOf, nearVessels, titleOf } from "./near.js";

// A mouse this near to a drawn vessel asks about it.
const HOVER_DMM = 12;

export class Cautions {
  constructor(face) {
    Object.assign(this, { face, root: face.part("cautions"), hovered: null, opened: null });
    this.root.addEventListener("click", ({ target }) => {
      const chip = target.closest("[data-near]");
      if (chip) {
        this.opened = this.opened === chip.dataset.near ? null : chip.dataset.near;
        this.show();
      } else if (target.closest("[data-beware-chip]")) {
        document.getElementById("tab-flags")?.click();
      }
    });
    face.root.addEventListener("pointermove", (event) => this.hover(event));
    this.listVessels();
  }

  get reference() {
    return this.face.reference;
  }

  atHand(held) {
    const { screen, figure } = this.face;
    const inSight = screen.points.filter((point) => figure.isOf(point));
    return held ?? inSight.find(({ key }) => key === screen.chosen) ?? inSight.at(-1) ?? null;
  }

  show(held = null) {
    const place = this.atHand(held);
    const region = place && this.reference.regions.find(({ key }) => key === place.region);
    const near = place ? nearVessels(this.reference, place, this.face.state.jaw) : [];
    const vessel = this.hovered ?? near[0]?.vessel ?? null;
    patch(this.root, vessel && this.vesselChip(vessel, !this.hovered), region?.beware && this.regionChip(region));
    this.light(this.hovered ? [this.hovered] : near.map((each) => each.vessel));
  }

  // One line, or it would lie over the very place it warns of; depth and source open at a touch.
  vesselChip(vessel, isNear) {
    const isOpen = !isNear || this.opened === vessel.key;
    const details = node("span", { class: "near-chip__details" }, `${depthOf(vessel)} `, node("span", { class: "near-chip__source" }, vessel.source));
    return node("button", { class: "near-chip", type: "button", "data-key": "vessel", "data-near": vessel.key, "aria-expanded": String(isOpen) },
      isNear ? icon("caution") : null,
      node("span", {}, node("b", {}, isNear ? `Caution: ${titleOf(vessel)}` : vessel.name), isOpen ? details : null));
  }

  regionChip({ beware, level }) {
    return node("button", { class: `beware-chip beware-chip--${level}`, type: "button", "data-key": "region", "data-beware-chip": true },
      icon("caution"), node("span", { "data-beware-label": true }, beware));
  }

  light(vessels) {
    const keys = new Set(vessels.map(({ key }) => key));
    for (const group of this.face.figure.paper.querySelectorAll("[data-vessel]")) {
      group.classList.toggle("is-near", keys.has(group.dataset.vessel));
    }
  }

  // Only with a mouse: a finger that is held asks by the cross.
  hover(event) {
    const { face } = this;
    if (event.pointerType !== "mouse" || event.buttons || !face.layers.isOn("vessels") || !face.state) {
      return;
    }
    const figure = event.target.closest("[data-figure].is-shown");
    let vessel = null;
    if (figure) {
      const { left, top } = figure.getBoundingClientRect();
      const place = face.figure.sight.toChart({ x: event.clientX - left, y: event.clientY - top });
      vessel = nearVessels(this.reference, { view: face.figure.view.key, ...place }, face.state.jaw, HOVER_DMM)[0]?.vessel ?? null;
    }
    this.ask(vessel);
  }

  ask(vessel) {
    if (vessel !== this.hovered) {
      this.hovered = vessel;
      this.show();
    }
  }

  // In the layers menu: every vessel with its depth and source, for fingers and keys.
  listVessels() {
    const list = this.face.part("vessels");
    list.append(...this.reference.vessels.map((vessel) => node("li", {},
      node("button", { type: "button", class: "face__vessel", "data-ask-vessel": vessel.key }, node("b", {}, vessel.name),
        node("span", {}, depthOf(vessel)), node("span", { class: "quiet" }, vessel.source)))));
    const asked = ({ target }) => {
      const key = target.closest?.("[data-ask-vessel]")?.dataset.askVessel;
      this.ask(this.reference.vessels.find((vessel) => vessel.key === key) ?? null);
    };
    list.addEventListener("focusin", asked);
    list.addEventListener("pointerover", asked);
    list.addEventListener("focusout", () => this.ask(null));
    list.addEventListener("click", (event) => {
      asked(event);
      this.face.layers.set("vessels", true);
      this.showView();
    });
  }

  // A vessel that the large view does not show is looked at where it is drawn.
  showView() {
    const { face, hovered } = this;
    const isOn = (view) => hovered && linesOf(hovered, view, face.state.jaw).length > 0;
    if (hovered && !isOn(face.figure.view.key)) {
      const view = this.reference.views.find(({ key }) => isOn(key));
      if (view) {
        face.show(view.key);
      }
    }
  }
}

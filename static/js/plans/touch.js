// A touch on the drawing of a plan: on a label it opens its line, elsewhere a new line for the region there.

import { RegionMap } from "../charting/region_of.js";

// A finger that moved further than this has moved the drawing.
const MOVED_PX = 8;

const root = document.querySelector("[data-reading]");
const { planTouch: address, midline } = document.querySelector("[data-plan-touch]").dataset;
const maps = new Map();
let pressed = null;

function placeOf(svg, event) {
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  if (!maps.has(svg)) {
    maps.set(svg, RegionMap.ofDrawing(svg, Number(midline)));
  }
  return maps.get(svg).at(Math.round(at.x * 10), Math.round(at.y * 10));
}

function open(event) {
  const svg = event.target.closest(".face__paper svg");
  if (!svg || !svg.closest(".is-shown")) {
    return;
  }
  const label = event.target.closest("[data-line]");
  if (label) {
    document.querySelector(`#line-${label.dataset.line} a`)?.click();
    return;
  }
  const place = placeOf(svg, event);
  if (place?.region) {
    window.location.assign(`${address}?${new URLSearchParams({ region: place.region, side: place.side })}`);
  }
}

root.classList.add("plan--touch");
root.addEventListener("pointerdown", ({ clientX, clientY }) => {
  pressed = { clientX, clientY };
});
root.addEventListener("click", (event) => {
  const moved = pressed && Math.hypot(event.clientX - pressed.clientX, event.clientY - pressed.clientY) > MOVED_PX;
  if (!moved) {
    open(event);
  }
});

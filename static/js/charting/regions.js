// Every region of the chart with one button a side: a point without touching the drawing, for keyboard and screen reader.

import { drawOnChange, button, icon, node, on, patch } from "./dom.js";

const SIDES = ["right", "midline", "left"];

function sideButton(screen, region, side, place) {
  const word = screen.word("side", side);
  const act = screen.mode === "planned" ? "put a marking" : "log a point";
  return place
    ? button({ class: "button regions__side", "data-add-region": region.key, "data-add-side": side, "aria-label": `${region.label}, ${word.toLowerCase()}: ${act}` }, word)
    : node("span", { class: "regions__side" });
}

function row(screen, region, places) {
  const sides = SIDES.map((side) => sideButton(screen, region, side, places[region.key]?.[side]));
  const trade = region.trade ? node("span", { class: "points__sub" }, region.trade) : null;
  const beware = region.beware ? node("span", { class: `regions__beware regions__beware--${region.level}`, title: region.beware }, icon("caution", region.beware)) : null;
  return node("li", { class: "regions__row", "data-key": region.key }, node("span", { class: "regions__name" }, node("b", {}, region.label), trade), beware, sides);
}

export function attachRegions(screen, root) {
  let drawn = "";
  drawOnChange(screen, () => {
    const { state, isOpen, mode } = screen;
    const looks = state && `${state.jaw} ${isOpen} ${mode}`;
    if (!state || looks === drawn) {
      return;
    }
    drawn = looks;
    const { regions, places } = screen.app.reference;
    const here = places[state.jaw] ?? {};
    patch(
      root,
      isOpen
        ? [node("p", { class: "quiet small regions__how" }, "Each button acts at the middle of the region, given as set above."), node("ul", { class: "regions" }, regions.map((region) => row(screen, region, here)))]
        : node("p", { class: "quiet" }, "This session cannot be changed here."),
    );
  });
  on(root, "click", "data-add-region", ({ dataset: { addRegion: region, addSide: side } }) => {
    const place = screen.app.reference.places[screen.state.jaw][region][side];
    Object.assign(screen, { view: place.view, picture: null });
    if (!screen.logAt({ ...place, region, side })) {
      document.querySelector("[data-settings]").scrollIntoView({ block: "nearest" });
    }
  });
}

// Region and side of a point on a photograph, which knows neither: a person says them. Where the scale was taken on both
// pupils, the front chart suggests them, and a person may change that.

import { button, node, on, patch } from "./dom.js";
import { RegionMap } from "./region_of.js";
import { toast } from "./say.js";
import { Scale } from "./scale.js";
import { openSheet, sheetNamed } from "./sheet.js";

const SIDES = ["right", "midline", "left"];
let maps = { svg: null, map: null };

// The front drawing's regions, as the face has drawn them; null until it has.
function frontRegions({ midline_half_width_dmm: halfWidth }) {
  const svg = document.querySelector('[data-figure="front"] .face__paper svg');
  if (svg !== maps.svg) {
    maps = { svg, map: svg && RegionMap.ofDrawing(svg, halfWidth) };
  }
  return maps.map;
}

// {region, side}, or null.
function suggestionFor(screen, place) {
  const picture = screen.state.pictures.find(({ key }) => key === place.picture);
  if (!picture?.on_pupils) {
    return null;
  }
  const at = new Scale(picture).chartPlace(place);
  return frontRegions(screen.app.reference)?.at(at.x_dmm, at.y_dmm) ?? null;
}

function rows(screen, chosen) {
  const { regions } = screen.app.reference;
  return regions.map((region) => node(
    "li", { class: "regions__row", "data-key": region.key },
    node("span", { class: "regions__name" }, node("b", {}, region.label), region.trade ? node("span", { class: "points__sub" }, region.trade) : null),
    node("span"),
    SIDES.map((side) => {
      if (side === "midline" && !region.midline) {
        return node("span", { class: "regions__side" });
      }
      const word = screen.word("side", side);
      const pressed = chosen?.region === region.key && chosen.side === side;
      return button({
        class: "button regions__side", "data-say-region": region.key, "data-say-side": side,
        "aria-label": `${region.label}, ${word.toLowerCase()}`, "aria-pressed": String(pressed),
      }, word);
    }),
  ));
}

// Gives change(key): asks anew where a point of a photograph is.
export function attachPicturePlaces(screen) {
  const sheet = sheetNamed("place");
  let act = null;
  let told = null;

  function ask(title, chosen, answer) {
    act = answer;
    const list = node("ul", { class: "regions" });
    patch(list, rows(screen, chosen));
    openSheet(sheet, { title, body: [node("p", { class: "quiet small" }, "The sides are the patient’s own."), list] });
    (sheet.querySelector('[aria-pressed="true"]') ?? sheet.querySelector("[data-say-region]"))?.focus();
  }

  on(sheet, "click", "data-say-region", ({ dataset: { sayRegion: region, saySide: side } }) => {
    sheet.close();
    act?.({ region, side });
  });

  function change(key) {
    const point = screen.points.find((each) => each.key === key);
    if (point) {
      ask(`Where is point ${point.number}?`, point, (said) => screen.change(point, said));
    }
  }

  screen.addEventListener("place", ({ detail: place }) => {
    const suggestion = suggestionFor(screen, place);
    if (!suggestion) {
      ask("Where on the face is this?", screen.points.findLast(({ picture }) => picture === place.picture), (said) => screen.logAt({ ...place, ...said }));
      return;
    }
    const key = screen.logAt({ ...place, ...suggestion });
    if (key) {
      told?.remove();
      told = toast(`Suggested from the pupils: ${screen.placeName(suggestion.region, suggestion.side)}.`, { label: "Change", act: () => change(key) });
    }
  });

  return change;
}

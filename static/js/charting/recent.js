// The last different ways of giving in this session, each one touch away.

import { formatAmount } from "./amounts.js";
import { button, icon, node } from "./dom.js";
import { isSameWay, recentWays } from "./ways.js";

function words(screen, way) {
  const unit = screen.units.find(({ pk }) => pk === way.unit);
  const size = [way.gauge && `${way.gauge} G`, way.length_mm && `${way.length_mm} mm`].filter(Boolean).join(" ");
  return {
    amount: formatAmount(way.amount, unit.measure),
    plane: screen.word("plane", way.plane),
    technique: screen.word("technique", way.technique),
    with: `${screen.word("instrument", way.instrument)} ${size}`.trim(),
    unit: unit.label,
  };
}

export function wayOfChip(screen, index) {
  return recentWays(screen.points, screen.units)[index];
}

// Nothing while one way alone was used: the panel shows that one.
export function recentChips(screen) {
  const ways = recentWays(screen.points, screen.units);
  if (screen.point || ways.length < 2) {
    return null;
  }
  const chips = ways.map((way, index) => {
    const { amount, plane, technique, with: tool, unit } = words(screen, way);
    return button(
      { class: "recent__way", "data-recent": index, "aria-pressed": String(isSameWay(way, screen.settings)), "aria-label": `${amount}, ${plane}, ${technique}, ${tool}, unit ${unit}` },
      node("span", {}, node("b", { class: "num" }, amount), " ", node("span", { class: "quiet" }, unit)), node("span", {}, plane), " ", node("span", {}, technique),
    );
  });
  return node("div", { class: "recent", role: "group", "aria-label": "Recent ways" }, chips);
}

// What repeats a point, named with its number, so that nobody repeats another one.
export function repeats(screen) {
  const { source, isOpen } = screen;
  if (!source || !isOpen) {
    return null;
  }
  const no = () => node("span", { class: "point-no" }, source.number);
  const canMirror = source.side !== "midline" && source.view !== "picture";
  return node(
    "div", { class: "repeats" },
    button({ class: "button", "data-mirror": source.key, disabled: !canMirror }, icon("mirror"), " Mirror ", no()),
    button({ class: "button", "data-repeat": source.key }, icon("undo"), " Again as ", no()),
  );
}

// What the session asks about: the server's flags, as of the moment it looked, what this tablet sees by itself, and what
// to beware of in the region at hand.

import { clockTime } from "./dates.js";
import { drawOnChange, icon, node, patch } from "./dom.js";
import { cautionsNear } from "./near.js";

const WEIGHT = { stop: 3, caution: 2, note: 1 };

export function flag({ level, label, title, text, source, points_text: points }) {
  return node(
    "div", { class: `flag flag--${level}` }, icon(level),
    node("div", { class: "flag__body" },
      node("p", { class: "flag__title" }, `${label}: ${title}`),
      node("p", {}, text, points ? node("span", { class: "quiet" }, ` ${points}.`) : null),
      source ? node("p", { class: "flag__source" }, `Source: ${source}`) : null),
  );
}

function beware(region, basis) {
  const rows = region.cautions.map(({ text, level, level_label: label, source }) => node(
    "li", { class: `beware__row beware__row--${level}` }, node("span", { class: "beware__level" }, label),
    node("span", {}, text, " ", node("span", { class: "quiet" }, source)),
  ));
  return node("section", { class: "beware", "data-beware": region.key }, node("h3", {}, `Beware: ${region.label}`), node("ul", {}, rows),
    node("p", { class: "flag__source" }, basis));
}

function flagParts(screen) {
  const { state, app } = screen;
  const checked = state.checked_at ? `As the clinic’s record checked them at ${clockTime(state.checked_at)}.` : "Not checked by the clinic’s record yet.";
  const flags = state.flags.map(flag);
  const near = cautionsNear(screen).map((caution) => flag({ level: "caution", label: "Caution", ...caution }));
  return [
    near.length ? [node("p", { class: "flags__when quiet" }, "Seen by this tablet, from the drawing:"), near] : null,
    node("p", { class: "flags__when quiet" }, checked, app.waiting.some(({ op }) => op.session === screen.sessionKey) ? " What was logged since is checked when it gets there." : ""),
    flags.length ? flags : node("p", { class: "quiet" }, "Nothing to ask about what was checked."),
  ];
}

export function attachFlags(screen, root) {
  drawOnChange(screen, () => {
    const { state, app } = screen;
    if (!state) {
      return;
    }
    const region = app.reference.regions.find(({ key }) => key === screen.source?.region);
    patch(
      root, node("div", { class: "flags" }, flagParts(screen)),
      state.review ? node("p", { class: "more__review" }, icon("reviews"), node("span", {}, state.review)) : null,
      region?.cautions.length ? beware(region, app.reference.caution_basis) : null,
    );
    const count = document.querySelector('[data-count="flags"]');
    const near = cautionsNear(screen);
    const worst = [...state.flags, ...(near.length ? [{ level: "caution" }] : [])].sort((one, other) => WEIGHT[other.level] - WEIGHT[one.level])[0];
    count.textContent = state.flags.length + near.length;
    count.className = `more__count${worst ? ` more__count--${worst.level}` : ""}`;
  });
}

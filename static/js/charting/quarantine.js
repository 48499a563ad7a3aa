// What came into quarantine while this tablet was at work: said until somebody has read it, and shown at what it is about.

import { button, drawOnChange, icon, node, on, patch } from "./dom.js";
import { heldWords, isAbout } from "./holds.js";

// At a unit on the tray; `short` where there is no room for the reason.
export function heldMark({ held }) {
  return held ? node("span", { class: "unit__against unit__held", "data-held": held.at }, icon("stop"), " In quarantine", node("span", { class: "unit__word" }, `: ${held.reason}`)) : null;
}

// Above the points: one line for each quarantine that reached something on the tray.
export function heldLines({ units }) {
  const lines = new Map(units.filter(({ held }) => held).map(({ held }) => [`${held.what}${held.at}`, held]));
  return [...lines].map(([key, held]) => node("p", { class: "points__held", "data-key": `held-${key}` }, icon("stop"), node("span", {}, heldWords(held))));
}

function item(news, sessions) {
  const trays = sessions.flatMap(({ tray, patient }) => tray.filter((unit) => isAbout(news, unit)).map((unit) => ({ unit, patient })));
  const where = trays.length
    ? trays.map(({ unit, patient }) => [node("br"), node("b", {}, `Unit ${unit.label} is on the tray of `, node("bdi", {}, patient.name), ".")])
    : [" It is offered no more."];
  return node(
    "div", { class: `flag flag--${trays.length ? "stop" : "caution"} news__item`, "data-key": news.key, "data-news-item": news.key }, icon(trays.length ? "stop" : "caution"),
    node("div", { class: "flag__body" }, node("p", { class: "flag__title" }, heldWords(news)), node("p", {}, news.product_name, ".", where)),
    button({ "data-news-read": news.key }, "I have read it"),
  );
}

export function attachQuarantine(screen, root) {
  const { app } = screen;
  drawOnChange(screen, () => patch(root, (app.day?.news ?? []).map((news) => item(news, screen.sessions.filter(({ is_open: isOpen }) => isOpen)))));
  on(root, "click", "data-news-read", ({ dataset }) => {
    app.newsRead(dataset.newsRead);
    screen.say("Read.");
  });
}

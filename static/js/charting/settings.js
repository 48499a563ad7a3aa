// How the next point is given, or how the chosen one was: large buttons that open a sheet of large options. Two touches
// for a setting, one for a common amount or a way used before, and no keyboard of the system over the face.

import { formatAmount, plain } from "./amounts.js";
import { button, drawOnChange, icon, node, on, patch } from "./dom.js";
import { askAmount, wordOf } from "./keypad.js";
import { doubtOfUnit } from "./plausibility.js";
import { recentChips, repeats, wayOfChip } from "./recent.js";
import { problem } from "./say.js";
import { openSheet, sheetNamed } from "./sheet.js";

const LABELS = {
  plane: "Plane", technique: "Technique", instrument: "Instrument", gauge: "Gauge", length_mm: "Length", aspiration: "Aspiration",
};
const NONE = "not recorded";

function optionsOf(name, { words, gauges, lengths_mm: lengths }) {
  if (name === "gauge") {
    return [[null, NONE], ...gauges.map((gauge) => [gauge, `${gauge} G`])];
  }
  return name === "length_mm" ? [[null, NONE], ...lengths.map((length) => [length, `${length} mm`])] : words[name];
}

// A size that is not offered, such as one typed elsewhere, is shown rather than lost.
function labelOf(name, value, reference) {
  const known = optionsOf(name, reference).find(([key]) => key === value && key !== null);
  const unit = { gauge: " G", length_mm: " mm" }[name] ?? "";
  return known?.[1] ?? (value === null ? null : `${value}${unit}`);
}

function stepsOf(screen) {
  return screen.app.day?.stock.products.find(({ pk }) => pk === screen.unit?.product)?.steps ?? [];
}

function head(screen) {
  const { point } = screen;
  if (!point) {
    const modes = [["given", "Given"], ["planned", "Mark"]].map(([mode, label]) => button(
      { class: "mode__choice", "data-mode": mode, "aria-pressed": String(screen.mode === mode) }, label,
    ));
    return node(
      "header", { class: "how__head" }, node("h2", { class: "visually-hidden" }, screen.mode === "planned" ? "Next marking" : "Next point"),
      node("div", { class: "mode", role: "group", "aria-label": "What a touch on the face does" }, modes),
      screen.mode === "planned" ? null : repeats(screen),
    );
  }
  const arrows = [["-5,0", "←", "To the left"], ["0,-5", "↑", "Up"], ["0,5", "↓", "Down"], ["5,0", "→", "To the right"]];
  return node(
    "header", { class: "how__head" },
    node("h2", { class: "how__title" }, "Point ", node("span", { class: "point-no" }, point.number)),
    node("div", { class: "how__acts" },
      node("div", { class: "how__nudge", role: "group", "aria-label": "Move by half a millimetre" },
        arrows.map(([by, sign, label]) => button({ class: "how__key", "data-nudge": by, "aria-label": label }, sign))),
      button({ class: "button button--danger button--icon", "data-remove": true }, icon("trash", "Remove this point")),
      button({ class: "button button--primary", "data-done": true }, icon("check"), " Done")),
  );
}

function amountRow(screen) {
  const { settings, measure } = screen;
  const steps = stepsOf(screen).map((amount) => button(
    { class: "how__step", "data-step": amount, "aria-pressed": String(amount === settings.amount) }, plain(amount, measure),
  ));
  const typed = settings.amount === null ? "–" : plain(settings.amount, measure);
  const label = settings.amount === null ? "Amount: not chosen" : `Amount: ${formatAmount(settings.amount, measure)}`;
  return node(
    "div", { class: "how__amount" },
    button({ class: `how__typed${screen.missing.includes("amount") ? " is-missing" : ""}`, "data-setting": "amount", "data-value": settings.amount ?? "", "aria-haspopup": "dialog", "aria-label": label },
      node("span", { class: "how__number" }, typed), " ", node("span", { class: "how__unit", "data-amount-unit": true }, wordOf(measure, typed))),
    node("div", { class: "how__steps", role: "group", "aria-label": "Common amounts" }, steps),
  );
}

function choice(screen, name) {
  const value = screen.settings[name];
  const shown = labelOf(name, value, screen.app.reference);
  return button(
    { class: `how__choice how__choice--${name}${screen.missing.includes(name) ? " is-missing" : ""}`, "data-setting": name, "data-value": value ?? "", "aria-haspopup": "dialog" },
    node("span", { class: "how__label" }, LABELS[name]), " ",
    node("span", { class: shown ? "how__value" : "how__value quiet" }, shown ?? (name === "gauge" || name === "length_mm" ? "–" : "Choose …")),
  );
}

function showOptions(screen, name) {
  const value = screen.settings[name];
  const options = optionsOf(name, screen.app.reference).map(([key, label], index) => button(
    { class: "option", role: "radio", "aria-checked": String(key === value), "data-option": index, tabindex: key === value || (value === null && index === 0) ? 0 : -1 }, label,
  ));
  const sheet = sheetNamed("choices");
  sheet.dataset.name = name;
  openSheet(sheet, {
    title: LABELS[name],
    body: node("div", { class: `sheet__options sheet__options--${name}`, role: "radiogroup", "aria-labelledby": `${sheet.id}-title` }, options),
  });
  (sheet.querySelector('[aria-checked="true"]') ?? sheet.querySelector("[data-option]")).focus();
}

// Arrows move between the options as between radio buttons; Enter and Space choose.
function moveAmong(event) {
  const step = { ArrowDown: 1, ArrowRight: 1, ArrowUp: -1, ArrowLeft: -1 }[event.key];
  const options = [...event.currentTarget.querySelectorAll("[data-option]")];
  const at = options.indexOf(event.target);
  if (step && at >= 0) {
    event.preventDefault();
    options[(at + step + options.length) % options.length].focus();
  }
}

// What was confirmed once for this amount is not asked again.
function doubtOf({ app, unit, settings }, amount) {
  return amount === settings.amount && settings.confirmed_odd ? null : doubtOfUnit(amount, unit, app.day);
}

function showAmount(screen, typed = "") {
  const { settings, measure, point } = screen;
  askAmount({
    title: point ? `Amount of point ${point.number}` : "Amount of the next point",
    measure, amount: settings.amount, steps: stepsOf(screen), typed,
    doubt: (typed) => doubtOf(screen, typed),
    act: (amount, _choice, confirmed) => {
      screen.set({ amount, confirmed_odd: confirmed });
    },
  });
}

export function attachSettings(screen, root) {
  drawOnChange(screen, () => {
    root.hidden = !screen.isOpen;
    root.classList.toggle("how--point", Boolean(screen.point));
    const planning = screen.mode === "planned" && !screen.point;
    patch(
      root, head(screen), problem(screen.problem),
      planning ? node("p", { class: "how__hint quiet" }, "Touch the face where a point is planned. In “Given”, a touch on a marking logs the point there and ticks it off.") : [
        amountRow(screen), node("div", { class: "how__choices" }, Object.keys(LABELS).map((name) => choice(screen, name))), recentChips(screen),
      ],
    );
  });
  on(root, "click", "data-setting", ({ dataset: { setting } }) => (setting === "amount" ? showAmount(screen) : showOptions(screen, setting)));
  on(root, "click", "data-step", ({ dataset }) => screen.set({ amount: Number(dataset.step) }));
  on(root, "click", "data-recent", ({ dataset }) => screen.set(wayOfChip(screen, Number(dataset.recent))));
  on(root, "click", "data-mode", ({ dataset }) => screen.setMode(dataset.mode));
  on(root, "click", "data-mirror", () => screen.mirror());
  on(root, "click", "data-repeat", () => screen.repeat());
  on(root, "click", "data-nudge", ({ dataset }) => screen.nudge(...dataset.nudge.split(",").map(Number)));
  on(root, "click", "data-remove", () => screen.remove());
  on(root, "click", "data-done", () => screen.choose(null));
  root.addEventListener("keydown", (event) => {
    if (event.target.matches('[data-setting="amount"]') && /^[0-9.,]$/.test(event.key)) {
      event.preventDefault();
      showAmount(screen, event.key);
    }
  });
  const sheet = sheetNamed("choices");
  sheet.addEventListener("keydown", moveAmong);
  on(sheet, "click", "data-option", ({ dataset: { option } }) => {
    const { name } = sheet.dataset;
    const [value] = optionsOf(name, screen.app.reference)[Number(option)];
    sheet.close();
    screen.set({ [name]: value });
  });
}

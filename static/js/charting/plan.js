// The plan of the session, line by line, ticked off as points are logged. A touch on a line takes its way for the next
// point: one touch in place of five.

import { formatAmount, plain } from "./amounts.js";
import { button, drawOnChange, icon, node, on, patch } from "./dom.js";
import { isFull } from "./planned.js";
import { empty } from "./say.js";
import { settingsOf } from "./ways.js";

const STATES = {
  open: { sign: "state-planned", word: "Not given" },
  partly: { sign: "state-due", word: "Partly given" },
  done: { sign: "state-done", word: "Given as planned" },
  over: { sign: "caution", word: "More than planned" },
};

function howText(screen, { plane, technique, instrument, gauge, length_mm: length }) {
  const tool = [screen.word("instrument", instrument), gauge && `${gauge} G`, length && `${length} mm`].filter(Boolean).join(" ");
  return [screen.word("plane", plane), screen.word("technique", technique), tool].join(", ").toLowerCase().replace(/ g\b/, " G");
}

function amountText({ given, amount, measure }) {
  return given ? `${plain(given, measure)} of ${formatAmount(amount, measure)}` : formatAmount(amount, measure);
}

function row(screen, line) {
  const { sign, word } = STATES[line.state];
  const face = [
    node("span", { class: "planned__sign" }, icon(sign, word)),
    node("span", { class: "planned__where" }, node("b", {}, screen.placeName(line.region, line.side)),
      node("span", { class: "points__sub" }, line.product_name), node("span", { class: "points__sub" }, howText(screen, line)),
      line.note ? node("span", { class: "points__sub" }, line.note) : null),
    node("span", { class: "planned__amount num" }, node("b", {}, amountText(line)), node("span", { class: "points__sub" }, word)),
  ];
  const looks = { class: `planned__line planned__line--${line.state}`, "data-plan-line": line.key };
  return node("li", { "data-key": `plan-${line.key}` },
    screen.isOpen ? button({ ...looks, "aria-label": `${screen.placeName(line.region, line.side)}, ${amountText(line)}, ${word.toLowerCase()}: take this way` }, face) : node("div", looks, face));
}

// "Cheekbones, stage 1 of 2: 3 of 5 lines given."
function head({ title, stage, stages, lines }) {
  const done = lines.filter(isFull).length;
  const which = stages > 1 ? `, stage ${stage} of ${stages}` : "";
  return node("p", { class: "planned__head" }, node("b", {}, title), `${which}: `, node("span", { class: "num" }, `${done} of ${lines.length}`), " given.");
}

// From a unit of its product on the tray. How much goes into one point is not planned: as in the last point of this
// product, else it has to be chosen.
function take(screen, line) {
  const isOfLine = ({ product }) => line.products.includes(product);
  const unit = screen.units.find((each) => isOfLine(each) && each.left > 0) ?? screen.units.find(isOfLine);
  if (!unit) {
    screen.refuse(`Open a unit of ${line.product_name} first, then touch this line again.`, ["unit"]);
    return;
  }
  const { plane, technique, instrument, gauge, length_mm } = line;
  const { amount, confirmed_odd } = settingsOf(screen.points.filter(isOfLine).at(-1) ?? {});
  screen.prepare({ unit: unit.pk, amount, confirmed_odd, plane, technique, instrument, gauge, length_mm }, line.view);
  screen.say(`The next point is given as planned: ${screen.placeName(line.region, line.side)}.`);
  screen.changed();
}

// What the shelf would have opened when the session began: "To open: 1 × HA filler firm 1 mL."
function unitsOf({ units = [] }) {
  const words = units.map(({ name, units: count }) => `${count} × ${name}`).join(", ");
  return words ? node("p", { class: "planned__units quiet small" }, `To open: ${words}.`) : null;
}

export function attachPlan(screen, root) {
  const tab = document.getElementById("tab-plan");
  drawOnChange(screen, () => {
    const { state } = screen;
    const plan = state?.plan ?? null;
    tab.hidden = !plan;
    if (!plan) {
      if (tab.getAttribute("aria-selected") === "true") {
        document.getElementById("tab-points").click();
      }
      patch(root, empty("No plan for this session.", ""));
      return;
    }
    const left = plan.lines.filter((line) => !isFull(line)).length;
    document.querySelector('[data-count="plan"]').textContent = left || "";
    const more = plan.unplanned.length;
    patch(root, head(plan), unitsOf(plan), node("ul", { class: "planned" }, plan.lines.map((line) => row(screen, line))),
      more ? node("p", { class: "quiet small" }, `${more === 1 ? "One point was" : `${more} points were`} not planned.`) : null);
  });
  on(root, "click", "data-plan-line", ({ dataset: { planLine } }) => {
    const line = screen.state?.plan?.lines.find(({ key }) => String(key) === planLine);
    if (line && screen.isOpen) {
      take(screen, line);
    }
  });
}

// What was scanned, large enough to be compared with the box, and what can be done with it.

import { shortDay } from "./dates.js";
import { button, icon, node } from "./dom.js";

function flag(level, title, ...more) {
  return node("div", { class: `flag flag--${level}`, "data-found-flag": level }, icon(level), node("div", { class: "flag__body" }, node("p", { class: "flag__title" }, title), more));
}

function lotOf({ lot, product }) {
  return [
    node("p", { class: "pack__label" }, product ? product.name : "", " · lot"),
    node("p", { class: "pack__lot", "data-found-lot": true }, lot),
    node("p", { class: "quiet" }, "Compare it with the box, sign by sign."),
  ];
}

function facts({ unit, lot, units, isSealed }) {
  const expiry = isSealed ? lot.expires_on : unit.expires_on;
  const rows = [
    ["Expires", node("strong", {}, shortDay(expiry))],
    ["Unit", unit.label],
    ["Serial number", unit.serial],
    isSealed ? ["In stock", `${units.length} of this lot`] : ["Opened", "already"],
  ];
  return node("dl", { class: "facts facts--wide" }, rows.filter(([, value]) => value).map(([name, value]) => node("div", {}, node("dt", {}, name), node("dd", { class: "num" }, value))));
}

// The question of first expired, first out: one touch to take the other lot.
function earlier({ lot, units }) {
  return flag("caution", `Lot ${lot.number} expires earlier: ${shortDay(lot.expires_on)}`,
    node("p", {}, `${units.length} of it ${units.length === 1 ? "is" : "are"} in stock. Take that?`),
    button({ class: "button button--primary", "data-found-other": "before" }, `Take lot ${lot.number}`));
}

function refused({ against, instead, unit, lot }, usedForm) {
  const isOfLot = instead && instead.lot.number === lot.number;
  return [
    flag("stop", against.join(" "), node("p", {}, "Not to be injected: put it aside."),
      instead ? button({ class: "button button--primary", "data-found-other": "instead" }, isOfLot ? `Take ${instead.unit.label} of the lot` : `Take lot ${instead.lot.number}`) : null),
    usedForm(unit.pk, unit.label),
  ];
}

// `usedForm(pk, label)`: where what was used all the same is written down. `rowOf(row)`: a row of the shelf.
export function foundCard(found, { usedForm, rowOf }) {
  if (!found.unit) {
    return node("section", { class: "found", "data-key": "found", "data-found": "nothing", tabindex: "-1" },
      flag(found.rows.length ? "caution" : "stop", found.text, found.todo ? node("p", {}, found.todo) : null),
      found.warnings.map((warning) => flag("caution", warning)),
      found.rows.length ? node("ul", {}, found.rows.map(rowOf)) : null);
  }
  const { unit, lot, product, against, before, isSealed, warnings } = found;
  const name = isSealed ? { product, lot: lot.number } : { product: { name: unit.product_name }, lot: unit.lot };
  const act = `${isSealed ? "Open" : "Use"} ${unit.label}`;
  return node(
    "section", { class: "found", "data-key": "found", "data-found": unit.pk, tabindex: "-1", "aria-label": "What was scanned" },
    node("div", { class: "found__pack" }, node("div", {}, lotOf(name)), facts(found)),
    warnings.map((warning) => flag("caution", warning)),
    before ? earlier(before) : null,
    against.length ? refused(found, usedForm)
      : button({ class: `button${before ? "" : " button--primary"} found__act`, "data-open-now": unit.pk }, before ? `${act} of lot ${lot.number} all the same` : act),
  );
}

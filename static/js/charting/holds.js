// What is in quarantine, as the day's stock and the trays tell it, and what of it is news to this tablet. Pure.
//
// A lot or unit is held: {what, at, reason}, such as {what: "Lot LOT42", at: "2026-11-25T14:03:00Z", reason: "Maker asked"}.
// One act of the clinic may hold many of them; all have its moment. News: {key, names, at, reason, product, product_name}.

import { shortTime } from "./dates.js";

const MOST_NAMES = 4;

const keyOf = (product, { at }) => `${product}/${at}`;
const lotNamed = (number) => `Lot ${number}`;
const unitNamed = (label) => `Unit ${label}`;

// By act, with the names of all that the stock says it holds.
function holdsOf({ products, opened }) {
  const holds = new Map();
  const add = (held, product, name) => {
    if (held) {
      const key = keyOf(product, held);
      const hold = holds.get(key) ?? { key, names: [], at: held.at, reason: held.reason, product, product_name: name };
      hold.names = [...new Set([...hold.names, held.what])];
      holds.set(key, hold);
    }
  };
  for (const { pk, name, lots } of products) {
    lots.forEach((lot) => [lot, ...lot.units].forEach(({ held }) => add(held, pk, name)));
  }
  opened.forEach(({ held, product, product_name: name }) => add(held, product, name));
  return holds;
}

// By product, the lots and units that a tablet could have offered or that lie on one of its trays.
function knownOf({ products, opened }, trays) {
  const known = new Map();
  const add = (product, ...names) => known.set(product, new Set([...(known.get(product) ?? []), ...names]));
  for (const { pk, lots } of products) {
    add(pk, ...lots.flatMap(({ number, units }) => [lotNamed(number), ...units.map(({ label }) => unitNamed(label))]));
  }
  [...opened, ...trays].forEach(({ product, lot, label }) => add(product, lotNamed(lot), unitNamed(label)));
  return known;
}

// What came into quarantine from one list of the stock to the next, of what this tablet knew. `trays`: the units on them.
export function newHolds(before, now, trays) {
  if (!before) {
    return [];
  }
  const [old, known] = [holdsOf(before), knownOf(before, trays)];
  return [...holdsOf(now).values()]
    .filter(({ key }) => !old.has(key))
    .map((hold) => ({ ...hold, names: hold.names.filter((name) => known.get(hold.product)?.has(name)) }))
    .filter(({ names }) => names.length);
}

export function isAbout({ key }, { product, held }) {
  return Boolean(held) && key === keyOf(product, held);
}

// "Lots B1, B2 and 3 more", "Unit U000012"
function named(names) {
  if (names.length === 1) {
    return names[0];
  }
  const [kind] = names[0].split(" ");
  const bare = names.map((name) => name.replace(/^(Lot|Unit) /, ""));
  const more = bare.length > MOST_NAMES ? ` and ${bare.length - MOST_NAMES} more` : "";
  return `${kind}s ${bare.slice(0, MOST_NAMES).join(", ")}${more}`;
}

// "Lot LOT42 was put in quarantine at 14:03: Maker asked. Not to be injected."
export function heldWords({ what, names = [what], at, reason }) {
  const when = shortTime(at);
  const were = names.length > 1 ? "were" : "was";
  return `${named(names)} ${were} put in quarantine ${when.includes(",") ? "on" : "at"} ${when}: ${reason.replace(/\.$/, "")}. Not to be injected.`;
}

// Whether an amount is likely a slip of the hand; the same questions as planning/plausibility.py, and compared with it by a
// test. It asks once and decides nothing.

import { formatAmount } from "./amounts.js";

const MANY_TIMES = 8;
const ASK_ABOVE = { ha_filler: 1000, other_filler: 1000, toxin: 2000 };
const LEAST_TOXIN = 50;
const DILUENT_BETWEEN = [500, 10000];
const IN_UNITS = ["toxin", "hyaluronidase"];

// The amount with its point one place on, if that comes near the usual one.
function slipped(amount, usual) {
  const turned = amount < usual ? amount * 10 : amount % 10 === 0 ? amount / 10 : null;
  return turned !== null && usual <= 3 * turned && 3 * turned <= 9 * usual ? turned : null;
}

// What a toxin's amount stands for if its number was millilitres of this vial.
function doseIn(amount, { content, usual, diluent_ul: diluent }) {
  if (!content || !diluent || (amount * 10 * content) % diluent) {
    return null;
  }
  const dose = (amount * 10 * content) / diluent;
  return dose > content || (usual && (usual > 2 * dose || 2 * dose > 4 * usual)) ? null : dose;
}

// {text, instead: the amount probably meant, or null}, or null where there is nothing to ask. `about`: {kind, content (0 if
// not known), usual (or null), diluent_ul (or null)}.
export function amountDoubt(amount, about) {
  const { kind, content = 0, usual = null } = about;
  const measure = IN_UNITS.includes(kind) ? "dose" : "volume";
  const typed = `typed: ${formatAmount(amount, measure)}.`;
  const isSmallToxin = kind === "toxin" && amount < LEAST_TOXIN;
  if (content && amount > content) {
    return { text: `The whole unit holds ${formatAmount(content, measure)}; ${typed}`, instead: slipped(amount, usual || content) };
  }
  const dose = isSmallToxin ? doseIn(amount, about) : null;
  if (dose !== null) {
    return { text: `${formatAmount(amount * 10, "volume")} of this vial holds ${formatAmount(dose, measure)}; ${typed}`, instead: dose };
  }
  if (usual && (amount >= MANY_TIMES * usual || amount * MANY_TIMES <= usual)) {
    return { text: `Usual here: ${formatAmount(usual, measure)}; ${typed}`, instead: slipped(amount, usual) };
  }
  if (isSmallToxin && !usual) {
    return { text: `Units are asked for, not mL; ${typed}`, instead: null };
  }
  const most = ASK_ABOVE[kind];
  if (most && amount > most && (!usual || amount > 2 * usual)) {
    return { text: `More than ${formatAmount(most, measure)} in one place is rare; ${typed}`, instead: null };
  }
  return null;
}

// About an amount from one unit, with what the day's stock knows of its product; nothing without a unit.
export function doubtOfUnit(amount, unit, day) {
  if (!unit) {
    return null;
  }
  const { kind, content, diluent_ul, product } = unit;
  const usual = day?.stock.products.find(({ pk }) => pk === product)?.usual ?? null;
  return amountDoubt(amount, { kind, content, diluent_ul, usual });
}

// The same of the volume a vial is made up with; `usual` in microlitres, or null.
export function diluentDoubt(volume, usual) {
  const typed = `typed: ${formatAmount(volume, "volume")}.`;
  if (usual && (volume >= 2 * usual || volume * 2 <= usual)) {
    return { text: `Usual here for this product: ${formatAmount(usual, "volume")}; ${typed} The strength changes with it.`, instead: usual };
  }
  const [least, most] = DILUENT_BETWEEN;
  if (!usual && (volume < least || volume > most)) {
    return { text: `Published dilutions take 1 mL to 5 mL; ${typed}`, instead: slipped(volume, 2500) };
  }
  return null;
}

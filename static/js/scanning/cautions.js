// What to look at before a code that could be read is believed: planning/codes/cautions.py and glued.py, word for word.

import { LIKELY_YEARS, isBefore, isLikely, written } from "./dates.js";
import { nameOf } from "./entries.js";

const DAY = "[0-9]{2}(?:0[1-9]|1[0-2])(?:[0-2][0-9]|3[01])";
// What is plain by its form comes first; the rest could be anywhere.
const INSIDE = [
  ["01", /01([0-9]{14})/],
  ["17", new RegExp(`17(${DAY})`)],
  ["11", new RegExp(`11(${DAY})`)],
  ["7003", new RegExp(`7003(${DAY}[0-9]{4})`)],
  ["21", /21(.+)/],
  ["10", /10(.+)/],
];

export function missingEntries(gtin, lot, expiry) {
  const absent = [
    ["product number", gtin],
    ["lot number", lot],
    ["expiry", expiry],
  ].filter(([, value]) => !value);
  if (!absent.length) {
    return [];
  }
  const names = absent.map(([name]) => name);
  const typed = names.filter((name) => name !== "product number").map((name) => `the ${name}`);
  const acts = gtin ? [] : ["choose the product"];
  if (typed.length) {
    acts.push(`type ${typed.join(" and ")} as printed on the box`);
  }
  return [`The code holds no ${names.join(" and no ")}: ${acts.join(", ")}.`];
}

// `days`: dates by identifier.
export function unlikeAnExpiry(days, today) {
  const expiry = days["17"] ?? days["7003"];
  if (!expiry) {
    if (!days["15"]) {
      return [];
    }
    const day = written(days["15"]);
    return [`The code holds a best-before date, ${day}, which is no expiry: look for the expiry on the box.`];
  }
  const day = written(expiry);
  const cautions = [];
  if (expiry.monthOnly) {
    cautions.push(
      `The code gives the month of expiry only; its last day, ${day}, was taken: compare it with the box.`,
    );
  }
  if (!isLikely(expiry, today)) {
    cautions.push(
      `The expiry ${day} lies more than ${LIKELY_YEARS} years from today, which no pack does: the code was misread ` +
        "or means something else. Compare it with the box.",
    );
  } else if (isBefore(expiry, today)) {
    cautions.push(`The expiry ${day} has passed: do not use this pack, put it aside.`);
  }
  if (days["11"] && isBefore(expiry, days["11"])) {
    const produced = written(days["11"]);
    cautions.push(`The production date ${produced} lies after the expiry ${day}: compare both with the box.`);
  }
  return cautions;
}

function glued({ value, openEnded }, present) {
  if (!openEnded) {
    return null;
  }
  for (const [ai, pattern] of INSIDE) {
    const match = present.has(ai) ? null : value.slice(1).match(pattern);
    if (match) {
      return `“${value.slice(0, match.index + 1)}”, followed by the ${nameOf(ai)} “${match[1]}”`;
    }
  }
  return null;
}

// A lot or serial number that may have taken in what came after it.
export function gluedValues(entries) {
  const present = new Set(entries.map(({ ai }) => ai));
  return entries
    .filter(({ ai }) => ["10", "21"].includes(ai))
    .map((entry) => ({ entry, other: glued(entry, present) }))
    .filter(({ other }) => other)
    .map(
      ({ entry, other }) =>
        `The ${nameOf(entry.ai)} “${entry.value}” may be two entries, if the scanner drops the separator: ${other}. ` +
        "Compare it with the box; if it is two, have the scanner send | between entries.",
    );
}

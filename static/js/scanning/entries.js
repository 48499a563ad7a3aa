// The entries of a GS1 code, as planning/codes/entries.py reads them: {ai, value, openEnded}.
//
// The server knows every application identifier; this knows those that stand on a pack.

import { BY_HAND, CodeError, NeedsServer } from "./refusal.js";

export const DATES = ["11", "12", "13", "15", "16", "17"];
const DIGITS_ONLY = ["01", "02", "03", ...DATES, "7003"];
const SHOWN = 24;
const TEXT = '[!%-?A-Z_a-z"]';
const DAY = "[0-9]{2}(?:0[0-9]|1[0-2])(?:[0-2][0-9]|3[01])";
const NAMES = {
  "01": "product number",
  10: "lot number",
  11: "production date",
  15: "best-before date",
  17: "expiry",
  21: "serial number",
  7003: "expiry",
};

// Identifier: [what its value is made of, the greatest number of characters if that is open].
const FORMS = {};
function form(identifiers, pattern, longest = 0) {
  for (const ai of identifiers) {
    FORMS[ai] = { longest, start: new RegExp(`^${pattern}`), whole: new RegExp(`^${pattern}$`) };
  }
}
const text = (identifiers, longest) => form(identifiers, `${TEXT}{1,${longest}}`, longest);
form(["00"], "[0-9]{18}");
form(["01", "02", "03"], "[0-9]{14}");
form(DATES, DAY);
form(["7003"], "[0-9]{10}");
form(["20"], "[0-9]{2}");
form(["410", "411", "412", "413", "414", "415", "416", "417"], "[0-9]{13}");
form(["30"], "[0-9]{0,8}", 8);
form(["37"], "[0-9]{1,8}", 8);
form(["242"], "[0-9]{1,6}", 6);
text(["10", "21", "22", "243", "710", "711", "712", "713", "714", "715", "716", "717"], 20);
text(["235"], 28);
text(["240", "241", "250", "251", "400", "401", "403", "90"], 30);
text(["91", "92", "93", "94", "95", "96", "97", "98", "99"], 90);

// "lot number (10)"
export const nameOf = (ai) => `${NAMES[ai] ?? "entry"} (${ai})`;

function identifierOf(rest) {
  return [2, 3, 4].map((length) => rest.slice(0, length)).find((ai) => ai in FORMS);
}

function shortened(value) {
  return value.length <= SHOWN ? value : `${value.slice(0, SHOWN)}…`;
}

function refused(ai, value) {
  if (!value) {
    return new CodeError(`The ${nameOf(ai)} is empty: scan again, or ${BY_HAND}.`);
  }
  return new CodeError(
    `The ${nameOf(ai)} cannot be “${shortened(value)}”; it was misread or cut off: scan again, or ${BY_HAND}.`,
  );
}

function unknown(rest, before) {
  if (/^[0-9]{2}/.test(rest)) {
    return new NeedsServer(`the entry that begins with ${rest.slice(0, 2)}`);
  }
  if (before.length) {
    return new CodeError(
      `“${shortened(rest)}” after the ${nameOf(before.at(-1).ai)} is no entry of a GS1 code; something was lost or ` +
        `is too long: scan again, or ${BY_HAND}.`,
    );
  }
  return new CodeError(
    `This is not a GS1 code: scan the square or the striped code on the box once more, or ${BY_HAND}.`,
  );
}

function runsOn(ai, following) {
  let what = `is longer than ${FORMS[ai].longest} characters, or its separator was lost`;
  if (!new RegExp(TEXT).test(following)) {
    what = `cannot hold ${following === " " ? "a blank" : `“${following}”`}`;
  }
  return new CodeError(`The ${nameOf(ai)} ${what}: scan again, or ${BY_HAND}.`);
}

const withoutSeparators = (rest) => rest.replace(/^[\x1d|]+/, "");

// What a scanner sends: identifiers and values in a row, separators between.
export function readElementString(sent) {
  const entries = [];
  let rest = withoutSeparators(sent);
  while (rest) {
    const ai = identifierOf(rest);
    if (!ai) {
      throw unknown(rest, entries);
    }
    const [upToSeparator] = rest.slice(ai.length).split(/[\x1d|]/);
    const [value] = upToSeparator.match(FORMS[ai].start) ?? [""];
    if (!value) {
      throw refused(ai, FORMS[ai].start.test(upToSeparator) ? "" : upToSeparator);
    }
    rest = rest.slice(ai.length + value.length);
    const openEnded = FORMS[ai].longest > 0 && !/^[\x1d|]/.test(rest);
    rest = withoutSeparators(rest);
    entries.push({ ai, value, openEnded });
    if (openEnded && rest) {
      throw runsOn(ai, rest[0]);
    }
  }
  return entries;
}

// The form printed under a code: (01)09521234543213(10)LOT42.
export function readPrinted(typed) {
  if (!/^(?:\([0-9]{2,4}\)[^()]*)+$/.test(typed)) {
    throw new CodeError(
      "Brackets stand around the two to four digits before each entry, as in (10)LOT42, and nowhere else: correct " +
        `what was typed, scan the code, or ${BY_HAND}.`,
    );
  }
  return [...typed.matchAll(/\(([0-9]{2,4})\)([^()]*)/g)].map(([, ai, raw]) => {
    const value = DIGITS_ONLY.includes(ai) ? raw.replaceAll(" ", "") : raw.replace(/^ +| +$/g, "");
    if (!(ai in FORMS)) {
      throw new NeedsServer(`the entry (${ai})`);
    }
    if (!value || !FORMS[ai].whole.test(value)) {
      throw refused(ai, value);
    }
    return { ai, value, openEnded: false };
  });
}

// What a scanned or typed code says of a pack, without the server: the tablet's planning/scan.py. A test compares both.
//
// Web addresses and identifiers that no pack carries are left to the server: `needsServer` is then true.

import { gluedValues, missingEntries, unlikeAnExpiry } from "./cautions.js";
import { fromIso, isoDate, readDate, readTime } from "./dates.js";
import { DATES, nameOf, readElementString, readPrinted } from "./entries.js";
import { BY_HAND, CodeError, NeedsServer } from "./refusal.js";

export const LONGEST = 500;
const GTIN_LENGTHS = [8, 12, 13, 14];
const GS1_CARRIERS = ["]C1", "]d2", "]Q3", "]e0", "]e1", "]e2", "]J1"];
const NUMBER_LENGTHS = { "]E0": 13, "]E4": 8, "]I1": 14 };
const PLAIN_CARRIERS = { "]C0": "a plain Code 128", "]d1": "a plain Data Matrix", "]Q1": "a plain QR code" };
const WRITTEN_SEPARATOR = /[{<(\[](?:GS|FNC1)[}>)\]]|\\x1D|\\u001D|\^\]|␝/i;
const HIBC = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%";
const SHORTEST_HIBC = 8;
const NO_STOCK_ITEM = {
  "00": "the label of a shipment",
  "02": "the label of a carton and names what lies in it",
  "03": "of an item made to order, which is no stock",
};
const NOTHING = {
  gtin: "", lot: "", expiry: null, serial: "", produced: null, expiryTime: null, additionalId: "", warnings: [],
  error: "", needsServer: false,
};

// {gtin, lot, expiry, serial, produced, expiryTime, additionalId, warnings, error, needsServer}; "" and null where the
// code says nothing, dates as 2027-02-28. `today` likewise. A refused code has `error` and nothing else.
export function readScan(text, today) {
  try {
    const [carrier, data] = takeCarrier(cleaned(text));
    const entries = entriesOf(carrier, data);
    return { ...NOTHING, ...packOf(entries, fromIso(today), cautionOf(carrier)) };
  } catch (error) {
    if (!(error instanceof CodeError)) {
      throw error;
    }
    return { ...NOTHING, error: error.message, needsServer: error instanceof NeedsServer };
  }
}

function cleaned(text) {
  const code = text.replace(/^[ \t\r\n]+|[ \t\r\n]+$/g, "");
  if (/^[\x1d|]*$/.test(code)) {
    throw new CodeError("Nothing was read: scan the code on the box, or type the digits printed under it.");
  }
  const length = [...code].length;
  if (length > LONGEST) {
    throw new CodeError(
      `This text of ${length} characters is longer than any code on a pack: scan one code at a time.`,
    );
  }
  const writtenOut = code.match(WRITTEN_SEPARATOR);
  if (writtenOut) {
    throw new CodeError(
      `The separator between two entries came as the letters “${writtenOut[0]}”: have the scanner send the sign ` +
        `itself or |, and scan again, or ${BY_HAND}.`,
    );
  }
  const foreign = code.match(/[^ -~\x1d]/u);
  if (foreign) {
    const shown = /[\p{C}\p{Z}]/u.test(foreign[0]) ? "a sign that cannot be seen" : `“${foreign[0]}”`;
    throw new CodeError(`A code does not hold ${shown}: scan again, or ${BY_HAND}.`);
  }
  return code;
}

function takeCarrier(code) {
  if (!code.startsWith("]")) {
    return ["", code];
  }
  if (!/^\][A-Za-z][0-9A-Za-z]/.test(code)) {
    throw new CodeError("The code begins with “]” and names no kind of barcode after it: scan again.");
  }
  return [code.slice(0, 3), code.slice(3).replace(/^ +/, "")];
}

function cautionOf(carrier) {
  if (!carrier || GS1_CARRIERS.includes(carrier) || carrier in NUMBER_LENGTHS) {
    return [];
  }
  const kind = PLAIN_CARRIERS[carrier] ?? `of another kind (${carrier})`;
  return [
    `This code is ${kind}, not a GS1 code, and need not follow the rules it was read by: compare product, lot and ` +
      "expiry with the box.",
  ];
}

function entriesOf(carrier, data) {
  if (data.startsWith("+")) {
    throw hibcRefusal(data);
  }
  if (/^https?:\/\//i.test(data)) {
    throw new NeedsServer("a web address");
  }
  if (data.startsWith("(")) {
    return readPrinted(data);
  }
  const digits = data.replaceAll(" ", "");
  const isNumber = /^[0-9]+$/.test(digits);
  const length = NUMBER_LENGTHS[carrier];
  if (length) {
    if (!isNumber || digits.length !== length) {
      throw new CodeError(
        `A striped code of this kind has ${length} digits; this is “${data}”: scan again, or type the digits printed ` +
          "under it.",
      );
    }
    return [numberOf(digits)];
  }
  if (isNumber && GTIN_LENGTHS.includes(digits.length) && !GS1_CARRIERS.includes(carrier)) {
    return bareDigits(digits);
  }
  return readElementString(data);
}

function hibcRefusal(data) {
  const sum = (letters) => [...letters].reduce((total, letter) => total + HIBC.indexOf(letter), 0);
  const agrees = (code) =>
    code.length >= SHORTEST_HIBC &&
    [...code].every((letter) => HIBC.includes(letter)) &&
    HIBC[sum(code.slice(0, -1)) % HIBC.length] === code.at(-1);
  // A blank is a check character too, and is lost where text is trimmed.
  if (!agrees(data) && !agrees(`${data} `)) {
    return new CodeError(
      "This looks like an HIBC code (it begins with +), and was misread: its last character does not fit the others. " +
        `HIBC codes are not read here: ${BY_HAND}.`,
    );
  }
  return new CodeError(
    "This is an HIBC code (it begins with +). HIBC codes are not read here: look for a second, GS1 code on the box, " +
      `or ${BY_HAND}.`,
  );
}

// A product number with its check digit right, in 14 digits: the rule of planning/gtin.py.
function numberOf(digits) {
  if (/^0*$/.test(digits)) {
    throw new CodeError("A GTIN of zeros names no product: type the digits printed under the barcode.");
  }
  const body = [...digits.slice(0, -1)].reverse();
  const sum = body.reduce((total, digit, place) => total + Number(digit) * (place % 2 ? 1 : 3), 0);
  const expected = String((10 - (sum % 10)) % 10);
  if (digits.at(-1) !== expected) {
    throw new CodeError(
      `The last digit of this GTIN should be ${expected}, not ${digits.at(-1)}: compare each digit with the pack.`,
    );
  }
  return { ai: "01", value: digits.padStart(14, "0"), openEnded: false };
}

// The value, or the error if the code was refused.
function attempt(read) {
  try {
    return { value: read() };
  } catch (error) {
    if (!(error instanceof CodeError)) {
      throw error;
    }
    return { error };
  }
}

// Digits that may be a product number, or entries: 17271130 is an expiry. Where both can be meant, neither is chosen.
function bareDigits(digits) {
  if (digits.startsWith("0") && digits.length === 8) {
    throw new CodeError(
      "Eight digits that begin with 0 are the short form of a longer number: type the 12 digits, or choose the " +
        "product.",
    );
  }
  const mayBeEntries = ["01", "10", "11", "17", "21"].some((ai) => digits.startsWith(ai));
  const entries = mayBeEntries ? attempt(() => readElementString(digits)) : {};
  if (entries.error && (entries.error instanceof NeedsServer || (digits.startsWith("01") && digits.length === 14))) {
    throw entries.error;
  }
  const number = attempt(() => numberOf(digits));
  if (!entries.value) {
    if (number.error) {
      throw number.error;
    }
    return [number.value];
  }
  if (number.error) {
    return entries.value;
  }
  const [first] = entries.value;
  throw new CodeError(
    `These digits can be product number ${number.value.value} or ${nameOf(first.ai)} “${first.value}”: ${BY_HAND}.`,
  );
}

function oneValueEach(entries) {
  const values = {};
  for (const { ai, value } of entries) {
    values[ai] ??= value;
    if (values[ai] !== value) {
      throw new CodeError(
        `The ${nameOf(ai)} is there twice, as “${values[ai]}” and as “${value}”: scan one code at a time, or ` +
          `${BY_HAND}.`,
      );
    }
  }
  return values;
}

function daysOf(values, today) {
  const days = {};
  for (const ai of [...DATES, "7003"].filter((known) => known in values)) {
    const digits = values[ai].slice(0, 6);
    days[ai] = readDate(digits, today);
    if (!days[ai]) {
      throw new CodeError(
        `The ${nameOf(ai)} “${digits}” is no day of the calendar (year, month, day): scan again, or ${BY_HAND}.`,
      );
    }
  }
  return days;
}

function timeOf(digits) {
  const time = readTime(digits.slice(6));
  if (!time) {
    throw new CodeError(
      `The time in the ${nameOf("7003")} “${digits}” is no time of day: scan again, or ${BY_HAND}.`,
    );
  }
  return time;
}

function packOf(entries, today, caution) {
  const values = oneValueEach(entries);
  for (const [ai, what] of Object.entries(NO_STOCK_ITEM)) {
    if (ai in values && (ai !== "00" || !("01" in values))) {
      throw new CodeError(`This code (${ai}) is ${what}: scan the code on the single box.`);
    }
  }
  const gtin = "01" in values ? numberOf(values["01"]).value : "";
  const days = daysOf(values, today);
  const expiryTime = "7003" in values ? timeOf(values["7003"]) : null;
  if (days["17"] && days["7003"] && isoDate(days["17"]) !== isoDate(days["7003"])) {
    throw new CodeError(`The code holds two dates of expiry: scan again, or ${BY_HAND}.`);
  }
  const expiry = days["17"] ?? days["7003"] ?? null;
  const [lot, serial] = [values["10"] ?? "", values["21"] ?? ""];
  if (!gtin && !lot && !expiry && !serial) {
    throw new CodeError(`This code names no product, lot or expiry: scan another, or ${BY_HAND}.`);
  }
  return {
    gtin,
    lot,
    expiry: expiry && isoDate(expiry),
    serial,
    produced: days["11"] ? isoDate(days["11"]) : null,
    expiryTime,
    additionalId: values["240"] ?? "",
    warnings: [
      ...caution,
      ...missingEntries(gtin, lot, expiry),
      ...unlikeAnExpiry(days, today),
      ...gluedValues(entries),
    ],
  };
}

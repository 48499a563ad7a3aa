// Amounts as people read and type them; the same rules as planning/amounts.py, and compared with it by a test.
//
// Integers of the base unit everywhere: microlitres for a volume, hundredths of a unit for a dose.

const LARGEST_WHOLE = 100000;
const LONGEST_TEXT = 40;

const NOTATIONS = {
  volume: {
    digits: 3,
    scale: 1000,
    one: "mL",
    many: "mL",
    example: "0.2",
    spellings: ["ml", "cc", "millilitre", "millilitres", "milliliter", "milliliters"],
  },
  dose: { digits: 2, scale: 100, one: "unit", many: "units", example: "4 or 2.5", spellings: ["unit", "units", "u", "iu"] },
};

// The message says what to type.
export class AmountError extends Error {}

function exact(amount) {
  if (!Number.isSafeInteger(amount)) {
    throw new TypeError(`An amount is an integer of the base unit, not ${amount}.`);
  }
  return amount;
}

// The number alone, as a field shows it: "0.2", "1000".
export function plain(amount, measure) {
  const { digits, scale } = NOTATIONS[measure];
  const size = Math.abs(exact(amount));
  const decimals = String(size % scale)
    .padStart(digits, "0")
    .replace(/0+$/, "");
  return `${amount < 0 ? "-" : ""}${Math.floor(size / scale)}${decimals && "."}${decimals}`;
}

// "0.2 mL", "4 units", "1 unit", "1,000 units"; a difference below zero with a minus sign.
export function formatAmount(amount, measure) {
  const { scale, one, many } = NOTATIONS[measure];
  const [whole, part] = plain(Math.abs(exact(amount)), measure).split(".");
  const grouped = whole.replace(/\B(?=(\d{3})+$)/g, ",");
  const unit = Math.abs(amount) === scale ? one : many;
  return `${amount < 0 ? "\u2212" : ""}${grouped}${part ? `.${part}` : ""} ${unit}`;
}

// Microlitres or hundredths of a unit from typed text; throws AmountError.
export function parseAmount(text, measure) {
  const notation = NOTATIONS[measure];
  const typed = text.trim();
  if (text.length > LONGEST_TEXT) {
    throw refusal(typed, notation);
  }
  const number = numberOf(typed, notation);
  const match = number && number.match(/^(0|[1-9][0-9]*)?(?:([.,])([0-9]+))?$/);
  if (!match) {
    throw refusal(number, notation);
  }
  const [whole, mark, part] = [match[1] ?? "0", match[2], match[3] ?? ""];
  if (mark === "," && part.length === 3 && whole !== "0") {
    throw new AmountError(
      `“${number}” can be read in two ways: type ${whole}${part}, or ${whole}.${part[0]} with a point.`,
    );
  }
  if (part.length > notation.digits) {
    throw new AmountError(
      `Type at most ${notation.digits} digits after the point; “${number}” has ${part.length}.`,
    );
  }
  if (Number(whole) > LARGEST_WHOLE) {
    const largest = LARGEST_WHOLE.toLocaleString("en");
    throw new AmountError(
      `“${number}” is too large: type a number up to ${largest}, such as ${notation.example}.`,
    );
  }
  const amount = Number(whole) * notation.scale + Number(part.padEnd(notation.digits, "0"));
  if (amount === 0) {
    throw new AmountError(`Type an amount above 0, such as ${notation.example}.`);
  }
  return amount;
}

// The number as typed, once the unit behind it, if any, is seen to be the right one.
function numberOf(typed, notation) {
  const match = typed.match(/^([^a-z]*?)\s*([a-z]*)$/i);
  if (!match) {
    throw refusal(typed, notation);
  }
  const unit = match[2].toLowerCase();
  if (!unit || (notation.spellings.includes(unit) && match[1])) {
    return match[1];
  }
  const other = Object.values(NOTATIONS).find((each) => each !== notation);
  if (other.spellings.includes(unit)) {
    throw new AmountError(
      `This product is counted in ${notation.many}, not ${other.many}: ` +
        `type the ${notation.many}, such as ${notation.example}.`,
    );
  }
  throw refusal(typed, notation);
}

function refusal(typed, notation) {
  const shown = typed ? `“${typed.slice(0, 20)}” is not an amount: type` : "Type";
  return new AmountError(
    `${shown} a number in ${notation.many} with the digits 0 to 9, such as ${notation.example}.`,
  );
}

// What a scanned or typed code is of this tablet's stock: a unit that can be put on the tray or is refused, rows among
// which a person has to choose, or nothing, with what to do. Pure.
//
//   {unit, product, lot, units, against, isSealed, warnings, before, instead}
//       before: a row that expires earlier; instead: one that can be opened where this one is refused (shelves.js)
//   {text, todo, rows, warnings}     rows: of the product that was named, perhaps none

import { shortDay } from "./dates.js";
import { earlierRow, openedRows, sealedRows, usableRow } from "./shelves.js";
import { againstOf } from "./stock.js";

const NOT_HERE = "It was not received here, or none of it is left. Do not open it: ask the practice owner. What was received just now comes with the next contact.";

// "u12" is U000012, as on the sticker; "" for what is no label.
export function labelOf(text) {
  const label = text.trim().toUpperCase();
  const digits = label.replace(/^U/, "");
  return /^\d{1,7}$/.test(digits) ? `U${digits.replace(/^0+(?=\d)/, "").padStart(6, "0")}` : "";
}

// `scan`: what readScan made of the text. `shelf`: {stock, patient, tray, used}, the last two sets of units.
export function foundBy(text, scan, shelf) {
  const label = labelOf(text);
  if (label) {
    return byUnit((unit) => unit.label === label, shelf) ?? nothing(`This tablet knows no unit of stock with the label “${label}”.`, "Compare it with the sticker. What was received just now comes with the next contact with the clinic.");
  }
  if (scan.error) {
    return nothing(scan.error, "");
  }
  const products = productsOf(scan, shelf.stock);
  if (!products.length) {
    return unknownProduct(scan, shelf);
  }
  if (products.length > 1) {
    const rows = products.flatMap((product) => rowsOf(product, shelf).filter(({ lot }) => lot.number === scan.lot));
    return { text: `Lot ${scan.lot} is a lot of more than one product, and the code does not say which.`, todo: "Choose by the product on the box.", rows, warnings: scan.warnings };
  }
  return { warnings: scan.warnings, ...ofProduct(products[0], scan, shelf) };
}

export function foundAs({ product, lot, unit, units, against }, shelf, warnings = []) {
  return { product, lot, unit, units, against, isSealed: true, warnings, ...otherRow(product, lot, against, shelf) };
}

function otherRow(product, lot, against, { used }) {
  return against.length
    ? { before: null, instead: usableRow(product, used) }
    : { before: earlierRow(product, lot, used), instead: null };
}

const nothing = (text, todo, rows = []) => ({ text, todo, rows, warnings: [] });
const rowsOf = (product, { used }) => sealedRows(product, used);

// By its number; where the code names none, those that have such a lot.
function productsOf({ gtin, lot }, { products }) {
  return products.filter((product) => (gtin ? product.gtin === gtin : product.lots.some(({ number }) => number === lot)));
}

function unknownProduct({ gtin, lot }, { stock }) {
  if (!gtin) {
    return nothing(lot ? `No lot ${lot} is in stock on this tablet.` : "The code names no product and no lot.", NOT_HERE);
  }
  // The first digit says how it is packed, the last one checks the others; what lies between is the item's.
  const inside = /^[1-8]/.test(gtin) && stock.products.find((product) => product.gtin.slice(1, 13) === gtin.slice(1, 13));
  return inside
    ? nothing(`This is the number of an outer pack of ${inside.name}.`, "Scan the code on a single box.")
    : nothing(`No product with the number ${gtin} is in stock on this tablet.`, NOT_HERE);
}

function ofProduct(product, scan, shelf) {
  if (!scan.lot) {
    const rows = rowsOf(product, shelf);
    return { text: `The code names ${product.name} and no lot.`, todo: "Compare the lot with the box, and choose.", rows };
  }
  const lot = product.lots.find(({ number }) => number === scan.lot);
  const row = lot && rowOf(product, lot, scan, shelf);
  if (row) {
    return { ...foundAs(row, shelf), warnings: [...otherExpiry(lot, scan), ...scan.warnings] };
  }
  const known = scan.serial && byUnit((unit) => unit.serial === scan.serial && unit.product === product.pk && unit.lot === scan.lot, shelf);
  const what = scan.serial && lot?.units.length ? `No unit of lot ${scan.lot} with the serial number ${scan.serial}` : `No unopened unit of lot ${scan.lot}, ${product.name},`;
  return known || { ...nothing(`${what} is on this tablet.`, NOT_HERE), rows: rowsOf(product, shelf) };
}

// The unit with the serial number; a unit of which nobody noted one may be any; without a number the first of the lot.
function rowOf(product, lot, { serial }, { used }) {
  const free = lot.units.filter(({ pk }) => !used.has(pk));
  const mayBe = serial ? free.filter((unit) => unit.serial === serial || !unit.serial) : free;
  const unit = mayBe.find((each) => serial && each.serial === serial) ?? mayBe.find((each) => !againstOf(lot, each).length) ?? mayBe[0];
  return unit && { product, lot, unit, units: free, against: againstOf(lot, unit) };
}

function otherExpiry(lot, { expiry }) {
  return expiry && expiry !== lot.expires_on
    ? [`The code says that it expires on ${shortDay(expiry)}, the books say ${shortDay(lot.expires_on)}: compare both with the box.`]
    : [];
}

// A unit in stock or open already, by whatever it is known by; null where there is none.
function byUnit(test, shelf) {
  for (const product of shelf.stock.products) {
    for (const lot of product.lots) {
      const unit = lot.units.find((each) => test({ ...each, product: product.pk, lot: lot.number }));
      if (unit) {
        return sealed(product, lot, unit, shelf);
      }
    }
  }
  const unit = shelf.stock.opened.find(test);
  return unit ? opened(unit, shelf) : null;
}

const onTray = ({ label }) => nothing(`Unit ${label} is on the tray already.`, "Touch its card to draw from it.");

function sealed(product, lot, unit, shelf) {
  const { tray, used } = shelf;
  if (tray.has(unit.pk)) {
    return onTray(unit);
  }
  const units = lot.units.filter(({ pk }) => !used.has(pk));
  const elsewhere = used.has(unit.pk) ? [`Unit ${unit.label} is on the tray of another session on this tablet.`] : [];
  return foundAs({ product, lot, unit, units, against: [...againstOf(lot, unit), ...elsewhere] }, shelf);
}

function opened(unit, { patient, tray }) {
  if (tray.has(unit.pk)) {
    return onTray(unit);
  }
  if (unit.content <= unit.drawn + unit.wasted) {
    return nothing(`Nothing is left in unit ${unit.label}.`, "Take another one.");
  }
  const others = openedRows([unit], patient, tray).length ? [] : [`Unit ${unit.label} was opened for another patient.`];
  return { unit, isSealed: false, against: [...(unit.against ?? []), ...others], warnings: [], before: null, instead: null };
}

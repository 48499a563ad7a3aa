// What of the day's stock can be put on a tray, first expired first. Pure.

import { againstOf } from "./stock.js";

// Units on a tray of this tablet, in one session or another: not on the shelf any more.
export function unitsInUse(sessions) {
  return new Set(sessions.flatMap(({ tray }) => tray.map(({ pk }) => pk)));
}

// One row for each lot with what of it may be opened, and one for what of it is refused for the same reasons; those come
// last. `unit` is the first of `units`. Shape: {product, lot, unit, units, against}.
export function sealedRows(product, used) {
  const rows = product.lots.flatMap((lot) => {
    const groups = new Map();
    for (const unit of lot.units.filter(({ pk }) => !used.has(pk))) {
      const against = againstOf(lot, unit);
      const row = groups.get(against.join()) ?? { product, lot, unit, units: [], against };
      row.units.push(unit);
      groups.set(against.join(), row);
    }
    return [...groups.values()];
  });
  return rows.sort((one, other) => Boolean(one.against.length) - Boolean(other.against.length) || one.lot.expires_on.localeCompare(other.lot.expires_on));
}

// Open already: kept for this patient, or a vial that the clinic shares.
export function openedRows(opened, patient, tray) {
  const mine = opened.filter(({ patient: whose, pk }) => (whose === null || whose === patient.pk) && !tray.has(pk));
  return mine.filter(({ content, drawn, wasted }) => content > drawn + wasted);
}

// The row to be opened before one of this lot: usable, of the same product, and earlier to expire; null without one.
export function earlierRow(product, lot, used) {
  const [first] = sealedRows(product, used);
  return first && !first.against.length && first.lot.expires_on < lot.expires_on ? first : null;
}

// The row that can be opened in place of a refused one; null without one.
export function usableRow(product, used) {
  const [first] = sealedRows(product, used);
  return first && !first.against.length ? first : null;
}

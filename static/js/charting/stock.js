// The units of the day's stock by their number, whichever shelf or tray they were listed under.

const known = new WeakMap();

export function stockOf(day) {
  if (!day?.stock) {
    return new Map();
  }
  if (!known.has(day)) {
    known.set(day, listed(day.stock));
  }
  return known.get(day);
}

// Why a sealed unit may not be opened: its lot's reasons, unless it has its own.
export const againstOf = (lot, unit) => unit.against ?? lot.against;

function listed({ products, opened }) {
  const units = new Map();
  const singles = new Map(products.map((product) => [product.pk, product.single_patient]));
  for (const { pk: product, name, kind, measure, single_patient: single, lots } of products) {
    for (const lot of lots) {
      for (const unit of lot.units) {
        const { pk, label, content, serial } = unit;
        units.set(pk, {
          pk, label, serial, product, product_name: name, kind, measure, lot: lot.number, expires_on: lot.expires_on, content,
          drawn: 0, wasted: 0, state: "in_stock", against: againstOf(lot, unit), held: unit.held ?? lot.held ?? null, single_patient: single,
        });
      }
    }
  }
  for (const row of opened) {
    const { diluent, diluent_ul, use_before, opened_at, opened_by, shared, patient, ...unit } = row;
    const opening = { diluent, diluent_ul, use_before, opened_at, opened_by, shared: shared ?? patient === null, mine_to_put_back: true };
    units.set(unit.pk, { ...unit, single_patient: singles.get(unit.product) ?? patient !== null, opening });
  }
  return units;
}

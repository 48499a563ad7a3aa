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

function listed({ products, opened }) {
  const units = new Map();
  const singles = new Map(products.map((product) => [product.pk, product.single_patient]));
  for (const { pk: product, name, kind, measure, single_patient: single, lots } of products) {
    for (const { number: lot, expires_on: expiresOn, against, units: sealed } of lots) {
      for (const { pk, label, content } of sealed) {
        units.set(pk, {
          pk, label, product, product_name: name, kind, measure, lot, expires_on: expiresOn, content,
          drawn: 0, wasted: 0, state: "in_stock", against, single_patient: single,
        });
      }
    }
  }
  for (const row of opened) {
    const { diluent_ul, use_before, opened_at, shared, patient, ...unit } = row;
    const opening = { diluent_ul, use_before, opened_at, shared: shared ?? patient === null, mine_to_put_back: true };
    units.set(unit.pk, { ...unit, single_patient: singles.get(unit.product) ?? patient !== null, opening });
  }
  return units;
}

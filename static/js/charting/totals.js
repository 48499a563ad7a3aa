// What the standing points add up to: per product, and per region and side. Integers of the base unit; the twin of
// planning/totals.py for the time without network, compared with it by a test.

function productsOf(points) {
  const products = new Map();
  for (const { product, product_name: name, measure, amount } of points) {
    const row = products.get(product) ?? { product, name, measure, amount: 0, points: 0 };
    row.amount += amount;
    row.points += 1;
    products.set(product, row);
  }
  return [...products.values()];
}

function regionsOf(points, reference) {
  const labels = new Map((reference?.regions ?? []).map(({ key, label }) => [key, label]));
  const rows = new Map();
  for (const { region, side, product, product_name, measure, amount } of points) {
    const key = `${region}/${product}`;
    const row = rows.get(key) ?? { region, label: labels.get(region) ?? "", product_name, measure, right: 0, midline: 0, left: 0 };
    if (side in row) {
      row[side] += amount;
    }
    rows.set(key, row);
  }
  return [...rows.values()];
}

export function totalsOf(points, reference) {
  const standing = points.filter(({ removed }) => !removed);
  return { products: productsOf(standing), regions: regionsOf(standing, reference) };
}

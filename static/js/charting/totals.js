// Running totals of a session; the same rules as planning/totals.py, and compared with it by a test. Amounts of two
// products are never added.

// Rows in the order in which the standing points first name them.
export function totalsOf(points, reference) {
  const labels = labelsOf(reference);
  const products = new Map();
  const regions = new Map();
  for (const { removed, product, product_name: name, measure, amount, region, side } of points) {
    if (removed) {
      continue;
    }
    const sum = products.get(product) ?? { product, name, measure, amount: 0, points: 0 };
    sum.amount += amount;
    sum.points += 1;
    products.set(product, sum);
    const id = `${region}|${product}`;
    const row = regions.get(id) ?? {
      region, label: labels.get(region) ?? region, product, product_name: name, measure, right: 0, midline: 0, left: 0,
    };
    if (side in row) {
      row[side] += amount;
    }
    regions.set(id, row);
  }
  return { products: [...products.values()], regions: [...regions.values()] };
}

const known = new WeakMap();

function labelsOf(reference) {
  if (!reference?.regions) {
    return new Map();
  }
  if (!known.has(reference)) {
    known.set(reference, new Map(reference.regions.map(({ key, label }) => [key, label])));
  }
  return known.get(reference);
}

// How far each planned line is: the twin of planning/plan_progress.py, compared with it by a test, because the tablet
// ticks lines off without a server.

const FULL = new Set(["done", "over"]);

export function stateOf(given, amount) {
  if (!given) {
    return "open";
  }
  return given < amount ? "partly" : given === amount ? "done" : "over";
}

// 0 for what fits best: its plane, its technique, one that is not full yet; then the first.
function misfit(line, point) {
  return [line.plane !== point.plane, line.technique !== point.technique, line.given >= line.amount].reduce((sum, isOff) => sum * 2 + Number(isOff), 0);
}

// lines: {region, side, products: [pk], plane, technique, amount}; points: standing ones with region, side, product, amount.
// Gives the lines with {given, state, points: [key]}, and the keys of points that no line asked for.
export function progressOf(lines, points) {
  const rows = lines.map((line) => ({ ...line, given: 0, points: [] }));
  const unplanned = [];
  for (const point of points) {
    const fitting = rows.filter(({ region, side, products }) => region === point.region && side === point.side && products.includes(point.product));
    if (!fitting.length) {
      unplanned.push(point.key);
      continue;
    }
    const best = fitting.reduce((least, line) => (misfit(line, point) < misfit(least, point) ? line : least));
    best.given += point.amount;
    best.points.push(point.key);
  }
  return { lines: rows.map((row) => ({ ...row, state: stateOf(row.given, row.amount) })), unplanned };
}

export const isFull = ({ state }) => FULL.has(state);

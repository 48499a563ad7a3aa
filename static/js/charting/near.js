// Whether a place is close to a drawn vessel: a caution with its source, which never blocks. The same distance as
// planning/atlas/nearness.py; a test compares them. Tenths of a millimetre.

// Squared distance of a place from a stretch of line, as an exact fraction [over, under].
function squareOf([x1, y1], [x2, y2], x, y) {
  const [across, down] = [x2 - x1, y2 - y1];
  const length = across * across + down * down;
  const along = (x - x1) * across + (y - y1) * down;
  if (along <= 0 || length === 0) {
    return [(x - x1) ** 2 + (y - y1) ** 2, 1];
  }
  if (along >= length) {
    return [(x - x2) ** 2 + (y - y2) ** 2, 1];
  }
  return [((x - x1) * down - (y - y1) * across) ** 2, length];
}

function leastSquare(lines, x, y) {
  let least = [Infinity, 1];
  for (const line of lines) {
    for (let index = 0; index + 1 < line.length; index += 1) {
      const square = squareOf(line[index], line[index + 1], x, y);
      if (square[0] * least[1] < least[0] * square[1]) {
        least = square;
      }
    }
  }
  return least;
}

export function linesOf(vessel, view, jaw) {
  return vessel.lines[view]?.[jaw] ?? [];
}

// [{vessel, distance}] within `reach` of the place, the nearest first; the reference's own distance unless given.
export function nearVessels(reference, { view, x_dmm, y_dmm }, jaw, reach = reference.near_vessel_dmm) {
  return reference.vessels
    .map((vessel) => ({ vessel, square: leastSquare(linesOf(vessel, view, jaw), x_dmm, y_dmm) }))
    .filter(({ square: [over, under] }) => over <= reach * reach * under)
    .map(({ vessel, square: [over, under] }) => ({ vessel, distance: Math.round(Math.sqrt(over / under)) }))
    .sort((one, other) => one.distance - other.distance);
}

// The vessels that the session's points lie close to, as flags: [{key, title, text, source, points_text}].
export function cautionsNear(screen) {
  const { reference } = screen.app;
  const found = new Map();
  for (const point of screen.points) {
    for (const { vessel } of nearVessels(reference, point, screen.state.jaw)) {
      found.set(vessel, [...(found.get(vessel) ?? []), point.number]);
    }
  }
  return [...found].map(([vessel, numbers]) => ({
    key: vessel.key,
    title: titleOf(vessel),
    text: depthOf(vessel),
    source: vessel.source,
    points_text: `${numbers.length === 1 ? "Point" : "Points"} ${numbers.join(", ")}`,
  }));
}

export function titleOf({ name }) {
  return `close to the ${name.toLowerCase()}`;
}

export function depthOf({ depth }) {
  return `Usual depth: ${depth.charAt(0).toLowerCase()}${depth.slice(1)}.`;
}

// Whether a place is close to a drawn vessel: a caution with its source, which never blocks. The same distance as
// planning/atlas/nearness.py; a test compares them. Tenths of a millimetre.

function distanceTo(line, x, y) {
  let least = Infinity;
  for (let index = 0; index + 1 < line.length; index += 1) {
    const [[x1, y1], [x2, y2]] = [line[index], line[index + 1]];
    const [byX, byY] = [x2 - x1, y2 - y1];
    const length = byX * byX + byY * byY;
    const share = length ? Math.max(0, Math.min(1, ((x - x1) * byX + (y - y1) * byY) / length)) : 0;
    least = Math.min(least, Math.hypot(x - x1 - share * byX, y - y1 - share * byY));
  }
  return least;
}

export function linesOf(vessel, view, jaw) {
  const lines = vessel.lines[view] ?? [];
  return Array.isArray(lines) ? lines : (lines[jaw] ?? lines.average ?? []);
}

// [{vessel, distance}] within `reach` of the place, the nearest first; the reference's own distance unless given.
export function nearVessels(reference, { view, x_dmm, y_dmm }, jaw, reach = reference.near_vessel_dmm) {
  return reference.vessels
    .map((vessel) => {
      const distance = Math.min(Infinity, ...linesOf(vessel, view, jaw).map((line) => distanceTo(line, x_dmm, y_dmm)));
      return { vessel, distance };
    })
    .filter(({ distance }) => distance <= reach)
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

// Region and side of a place, from the drawing's own region shapes: the same whole-number rules as
// planning/atlas/locate.py, so that tablet and server agree to the tenth of a millimetre. A test compares them.

// "M1.2 -3L4 5Z" in millimetres -> [[12, -30], [40, 50]] in tenths; the drawing writes one decimal at most.
function ringOf(path) {
  const numbers = path.match(/-?[0-9.]+/g) ?? [];
  const ring = [];
  for (let index = 0; index + 1 < numbers.length; index += 2) {
    ring.push([Math.round(numbers[index] * 10), Math.round(numbers[index + 1] * 10)]);
  }
  return ring;
}

// By crossing count. A place on a border belongs to the shape on its right, on a level border to the one below.
export function contains(ring, x, y) {
  let inside = false;
  let [x1, y1] = ring[ring.length - 1];
  for (const [x2, y2] of ring) {
    if (y1 > y !== y2 > y) {
      const rise = y2 - y1;
      const difference = (x - x1) * rise - (x2 - x1) * (y - y1);
      if (rise > 0 ? difference < 0 : difference > 0) {
        inside = !inside;
      }
    }
    x1 = x2;
    y1 = y2;
  }
  return inside;
}

const flipped = (ring) => ring.map(([x, y]) => [-x, y]);

export class RegionMap {
  // shapes: [{region, side: "" | "left" | "right", ring}]; "" for one that crosses the midline.
  constructor(shapes, midlineHalfWidth) {
    this.midlineHalfWidth = midlineHalfWidth;
    const sides = new Set(shapes.map(({ side }) => side));
    this.onlySide = sides.size === 1 && !sides.has("") ? [...sides][0] : null;
    // Only one half is tested, mirrored for the other, so that both round alike on a border.
    const half = this.onlySide ? shapes : shapes.filter(({ side }) => side !== "right");
    this.half = this.onlySide === "left" ? half.map((shape) => ({ ...shape, ring: flipped(shape.ring) })) : half;
  }

  static ofDrawing(svg, midlineHalfWidth) {
    const shapes = [...svg.querySelectorAll("path[data-region]")].map((path) => ({
      region: path.dataset.region,
      side: path.dataset.side,
      ring: ringOf(path.getAttribute("d")),
    }));
    return new RegionMap(shapes, midlineHalfWidth);
  }

  // {region, side}, or null off the drawing.
  at(x, y) {
    const isMirrored = this.onlySide ? this.onlySide === "left" : x < 0;
    const found = this.half.find(({ ring }) => contains(ring, isMirrored ? -x : x, y));
    return found ? { region: found.region, side: this.sideOf(found, x) } : null;
  }

  sideOf(shape, x) {
    if (this.onlySide) {
      return this.onlySide;
    }
    if (!shape.side && Math.abs(x) <= this.midlineHalfWidth) {
      return "midline";
    }
    return x > 0 ? "left" : "right";
  }
}

// How a point is given, as plain values: what is missing, what a unit was last given by, where the twin lies.

export const NAMES = ["unit", "amount", "plane", "technique", "instrument", "gauge", "length_mm", "aspiration"];
export const NO_SETTINGS = Object.freeze({
  unit: null, amount: null, plane: null, technique: null, instrument: null, gauge: null, length_mm: null, aspiration: null,
  confirmed_odd: "",
});
export const TEXTS = {
  noUnit: "Not logged: open a unit first, or touch the one you draw from.",
  noPlanHere: "Markings go on the drawings. On a photograph a touch logs a point: choose “Given”.",
};
// Said of a thing once it is known where it is kept; nothing while it is being stored.
export const KEPT = {
  clinic: "Stored in the clinic.", tablet: "Stored on this tablet.", memory: "Not stored: only on this page.", attention: "Needs attention.",
};
const NEEDED = { amount: "amount", plane: "plane", technique: "technique", instrument: "instrument", aspiration: "aspiration" };
const SAME_AGAIN = 4;
const PLACE = ["view", "x_dmm", "y_dmm", "reach_x_dmm", "reach_y_dmm", "picture", "region", "side"];

export function settingsOf(point) {
  const settings = Object.fromEntries(NAMES.map((name) => [name, point[name] ?? null]));
  return { ...settings, confirmed_odd: point.confirmed_odd ?? "" };
}

export function placeOf(place) {
  const values = Object.fromEntries(PLACE.map((name) => [name, place[name] ?? null]));
  return { ...values, region: place.region ?? "", side: place.side ?? "" };
}

// The settings without which no point can be logged, the unit first: their keys, and their names as a list in words.
export function missingSettings(settings, unit) {
  const missing = Object.keys(NEEDED).filter((name) => !settings[name]);
  const names = missing.map((name) => NEEDED[name]).join(", ");
  return { missing: unit ? missing : ["unit", ...missing], names };
}

// Touching a card brings back how its product was last given. A product not yet given keeps the way in the panel; of
// another kind of product it keeps the needle alone, for its amount would be wrong by a factor, its plane a bad guess.
export function wayFor(unit, current, before, points) {
  const given = points.filter(({ unit: pk, product }) => pk === unit.pk || (product && product === unit.product));
  const last = given.at(-1);
  if (last) {
    return { ...settingsOf(last), unit: unit.pk };
  }
  if (before && before.kind !== unit.kind) {
    return { ...current, unit: unit.pk, amount: null, plane: null, technique: null, confirmed_odd: "" };
  }
  return { ...current, unit: unit.pk, confirmed_odd: "" };
}

function sameWay(one, other) {
  return NAMES.every((name) => (one[name] ?? null) === (other[name] ?? null));
}

// The last different ways of this session, the newest first, without those from units that left the tray.
export function recentWays(points, tray) {
  const ways = [];
  for (const point of [...points].reverse()) {
    const way = settingsOf(point);
    if (tray.some(({ pk }) => pk === way.unit) && !ways.some((each) => sameWay(each, way))) {
      ways.push(way);
    }
  }
  return ways.slice(0, SAME_AGAIN);
}

export function isSameWay(one, other) {
  return sameWay(one, other);
}

const OPPOSITE = { left: "right", right: "left" };

// As planning.atlas.locate.mirror: the side views change places, every other view stays.
export function mirrored(point) {
  const turned = (value) => (value === null || value === undefined ? null : -value);
  return {
    view: OPPOSITE[point.view] ?? point.view,
    x_dmm: -point.x_dmm, y_dmm: point.y_dmm,
    reach_x_dmm: turned(point.reach_x_dmm), reach_y_dmm: point.reach_y_dmm ?? null,
    region: point.region, side: OPPOSITE[point.side] ?? point.side,
  };
}

// The face by keyboard, while it has the focus: arrows move a cross or the chosen point, with Alt the end of its fan or
// thread, Enter places. What works from anywhere on the screen is in keys.js.

import { hasReach, reachLength, reachTo } from "./reach.js";

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const START = { x_dmm: 0, y_dmm: 300 };
const NEAR_DMM = 20;

// In tenths of a millimetre.
function stepOf({ shiftKey, altKey }, isPoint) {
  if (shiftKey) {
    return 50;
  }
  return isPoint || altKey ? 5 : 10;
}

export function attachFaceKeys(face) {
  const { screen } = face;

  function sayCursor() {
    const { region, side } = face.placeOn(face.cursor);
    screen.say(region === null ? "Off the drawing." : region ? `${screen.placeName(region, side)}.` : "On the photograph.");
  }

  function start() {
    const { sight, view } = face.figure;
    const from = screen.points.filter((point) => face.figure.isOf(point)).at(-1);
    const [left, top, width, height] = view.box;
    const middle = view.picture || view.key === "hands" ? { x_dmm: (left + width / 2) * 10, y_dmm: (top + height / 2) * 10 } : START;
    return from ?? sight.toChart(sight.toPixels(middle));
  }

  function moveCursor([x, y], step) {
    const { x_dmm, y_dmm } = face.cursor ?? start();
    face.moveCursor({ x_dmm: Math.round(x_dmm) + x * step, y_dmm: Math.round(y_dmm) + y * step });
    sayCursor();
  }

  // The end of the chosen point's fan or thread; brought back to the point it has no direction.
  function turn([x, y], { shiftKey }) {
    const { point } = screen;
    if (!screen.isOpen) {
      return;
    }
    if (!screen.app.reference.with_reach.includes(point.technique)) {
      screen.say("Only a fan or thread has a direction.");
      return;
    }
    const step = shiftKey ? 50 : 10;
    const from = hasReach(point) ? { x_dmm: point.reach_x_dmm, y_dmm: point.reach_y_dmm } : point;
    const reach = reachTo(point, { x_dmm: from.x_dmm + x * step, y_dmm: from.y_dmm + y * step });
    screen.moveTo(point.key, { x_dmm: point.x_dmm, y_dmm: point.y_dmm, ...reach });
    screen.say(hasReach(reach) ? `${Math.round(reachLength({ ...point, ...reach }) / 10)} mm long.` : "No direction.");
  }

  function arrow(event) {
    const way = ARROWS[event.key];
    if (screen.point && event.altKey) {
      turn(way, event);
    } else if (screen.point) {
      const step = stepOf(event, true);
      screen.nudge(way[0] * step, way[1] * step);
    } else {
      moveCursor(way, stepOf(event, false));
    }
  }

  function place() {
    if (!face.cursor) {
      moveCursor([0, 0], 0);
    } else {
      face.placeAt(face.cursor, null);
    }
  }

  // The mark under the cross.
  function choose() {
    const { cursor } = face;
    const away = (point) => Math.hypot(point.x_dmm - cursor.x_dmm, point.y_dmm - cursor.y_dmm);
    const [found] = cursor ? [...face.points].filter((point) => away(point) <= NEAR_DMM).sort((a, b) => away(a) - away(b)) : [];
    if (found) {
      screen.choose(found.key);
    } else {
      screen.say("No point under the cross.");
    }
  }

  const KEYS = {
    Enter: place,
    " ": choose,
    m: () => screen.mirror(),
    r: () => screen.repeat(),
    u: () => screen.undo(),
    z: () => screen.undo(),
    y: () => screen.redo(),
    "+": () => face.zoom("in"),
    "=": () => face.zoom("in"),
    "-": () => face.zoom("out"),
    0: () => face.zoom("whole"),
    Delete: () => screen.remove(),
    Backspace: () => screen.remove(),
    Escape: () => (screen.chosen ? screen.choose(null) : face.moveCursor(null)),
  };

  function view(event) {
    const figure = [...face.figures.values()][Number(event.key) - 1];
    if (figure) {
      face.show(figure.id);
      figure.overlay.focus();
      screen.say(`${figure.view.label}.`);
    }
    return Boolean(figure);
  }

  face.root.addEventListener("keydown", (event) => {
    if (!event.target.matches("svg.face__marks") || event.ctrlKey || event.metaKey) {
      return;
    }
    const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    if (key in ARROWS) {
      arrow(event);
    } else if (KEYS[key] && !event.altKey) {
      KEYS[key]();
    } else if (!/^[1-9]$/.test(key) || !view(event)) {
      return;
    }
    event.preventDefault();
  });
}

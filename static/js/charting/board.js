// What a touch on the large drawing means: see gestures.js for who calls what. Pixels come in, places of the chart go out.

import { hasReach, reachTo } from "./reach.js";

// A finger this near to a mark's middle means the mark; two points 5 mm apart are about 12 pixels apart unenlarged.
const MARK_REACH_PX = 11;
const CHOSEN_REACH_PX = 20;
// Where the handle of a thread or fan without a direction waits to be drawn out.
const HANDLE_PX = 30;

function nearest(figure, things, at, reachOf) {
  let found = null;
  let least = Infinity;
  for (const thing of things) {
    const pixels = figure.sight.toPixels(thing);
    const away = Math.hypot(pixels.x - at.x, pixels.y - at.y);
    if (away <= reachOf(thing) && away < least) {
      found = thing;
      least = away;
    }
  }
  return found;
}

export class Board {
  constructor(face) {
    this.face = face;
  }

  get screen() {
    return this.face.screen;
  }

  get figure() {
    return this.face.figure;
  }

  get isReaching() {
    const { screen } = this;
    return screen.mode === "given" && !screen.chosen && screen.app.reference.with_reach.includes(screen.settings.technique);
  }

  // The end of the chosen point's reach, or where it can be drawn from; null for a technique without.
  handleOf(point) {
    if (!point || !this.screen.isOpen || !this.screen.app.reference.with_reach.includes(point.technique)) {
      return null;
    }
    if (hasReach(point)) {
      return { x_dmm: point.reach_x_dmm, y_dmm: point.reach_y_dmm };
    }
    const { x, y } = this.figure.sight.toPixels(point);
    return this.figure.sight.toChart({ x: x + (point.x_dmm < 0 ? -HANDLE_PX : HANDLE_PX), y });
  }

  grab(at) {
    const { figure, screen, face } = this;
    const { point } = screen;
    const chosen = point && figure.isOf(point) ? point : null;
    const handle = this.handleOf(chosen);
    if (handle && nearest(figure, [handle], at, () => CHOSEN_REACH_PX)) {
      return this.grabHandle(chosen, handle);
    }
    const reach = MARK_REACH_PX * (figure.sight.zoom >= 2 ? 1.6 : 1);
    const under = nearest(figure, face.layers.isOn("today") ? face.points : [], at,
      ({ key }) => (key === chosen?.key ? CHOSEN_REACH_PX : reach));
    if (under) {
      return this.grabPoint(under);
    }
    const planned = face.layers.isOn("plan") ? face.markings.filter((marking) => !marking.point) : [];
    const marking = screen.isOpen ? nearest(figure, planned, at, () => reach) : null;
    return marking && this.grabMarking(marking);
  }

  // A place as far from `place` as the finger moved.
  moved(place, by) {
    const { x, y } = this.figure.sight.toPixels(place);
    return this.figure.sight.toChart({ x: x + by.x, y: y + by.y });
  }

  grabPoint(point) {
    const { screen, face, figure } = this;
    const movedBy = (by) => {
      const at = this.moved(point, by);
      const [dx, dy] = [at.x_dmm - point.x_dmm, at.y_dmm - point.y_dmm];
      const reach = hasReach(point) ? { reach_x_dmm: point.reach_x_dmm + dx, reach_y_dmm: point.reach_y_dmm + dy } : {};
      return { ...at, reach_x_dmm: null, reach_y_dmm: null, ...reach };
    };
    return {
      tap: () => screen.choose(point.key),
      drag: (by) => {
        if (screen.isOpen) {
          face.showMoving({ ...point, ...movedBy(by) });
        }
      },
      drop: (by) => {
        const to = movedBy(by);
        if (!screen.isOpen) {
          return;
        }
        if (figure.regionAt(to)) {
          screen.moveTo(point.key, to);
        } else {
          face.hint("Not moved: that is off the drawing.");
        }
        face.update();
      },
      cancel: () => face.update(),
    };
  }

  grabHandle(point, handle) {
    const { screen, face } = this;
    const turned = (by) => ({ ...point, ...reachTo(point, this.moved(handle, by)) });
    return {
      tap: () => face.hint("Drag the handle to where the fan or thread ends."),
      drag: (by) => face.showMoving(turned(by)),
      drop: (by) => {
        const { x_dmm, y_dmm, reach_x_dmm, reach_y_dmm } = turned(by);
        screen.moveTo(point.key, { x_dmm, y_dmm, reach_x_dmm, reach_y_dmm });
        face.update();
      },
      cancel: () => face.update(),
    };
  }

  // A marking is given by touching it, at its own place, and a fan or thread drawn out from there; in planning a touch
  // takes it away.
  grabMarking(marking) {
    const { screen, face, isReaching } = this;
    const { view, x_dmm, y_dmm, region, side } = marking;
    const give = (end) => face.log({ view, x_dmm, y_dmm, region, side, marking: marking.key, ...reachTo(marking, end) });
    return {
      tap: () => (screen.mode === "planned" ? screen.unplan(marking.key) : give(null)),
      drag: (by) => isReaching && this.showReach(marking, this.moved(marking, by)),
      drop: (by) => {
        this.showReach(marking, null);
        if (isReaching) {
          give(this.moved(marking, by));
        }
      },
      cancel: () => this.showReach(marking, null),
    };
  }

  aim(at) {
    this.face.aimAt(at && this.figure.sight.toChart(at));
  }

  reachFrom(at, to) {
    const { sight } = this.figure;
    this.showReach(sight.toChart(at), to && sight.toChart(to));
  }

  showReach({ x_dmm, y_dmm }, end) {
    const { figure, face, screen } = this;
    const { technique } = screen.settings;
    face.tools.reach(figure, end && { x_dmm, y_dmm, reach_x_dmm: end.x_dmm, reach_y_dmm: end.y_dmm, technique });
    face.tools.put("aim", figure, end && { x_dmm, y_dmm });
  }

  place(at, to) {
    const { figure } = this;
    const end = to && figure.sight.toChart(to);
    this.face.placeAt(figure.sight.toChart(at), end);
  }

  zoomAt(at, factor) {
    this.figure.sight.zoomAt(at, factor);
    this.face.lookAgain();
  }

  panBy(x, y) {
    this.figure.sight.panBy(x, y);
    this.face.lookAgain();
  }

  moving(isMoving) {
    this.face.moving(isMoving);
  }
}

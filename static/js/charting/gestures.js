// Fingers, pen and mouse on the large drawing. One finger places, chooses or moves; two enlarge and move the sight and
// never place; a palm or second finger takes a place back that was about to be made.
//
// A finger that rests before it is dragged aims: a cross above it shows where it would place. A fan or thread needs its
// drag for direction and length: with it the cross is where the finger came down, and every drag, after a rest too, is
// the line from there.
//
// `board` is what is done with them, all places in pixels from the figure's corner:
//   grab(at) -> {drag(at), drop(at), cancel(), tap()} | null   what lies under a finger: a mark, a handle
//   aim(at | null)       the cross that shows where a held finger would place
//   reachFrom(at, to | null)   the line of a fan or thread being drawn; isReaching says whether one may be
//   place(at, to | null), zoomAt(at, factor), panBy(x, y), moving(isMoving)

const STILL_PX = 8;
const HOLD_MS = 250;
// Above the finger, where it can be seen.
const FINGER_LIFT_PX = 56;
// Wider than any fingertip: a palm.
const PALM_PX = 90;

export class Gestures {
  constructor(root, board) {
    Object.assign(this, { root, board, fingers: new Map(), held: null, pinch: null });
    root.addEventListener("pointerdown", (event) => this.down(event));
    root.addEventListener("pointermove", (event) => this.move(event));
    root.addEventListener("pointerup", (event) => this.up(event));
    root.addEventListener("pointercancel", (event) => this.cancel(event));
    root.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    root.addEventListener("contextmenu", (event) => this.fingers.size && event.preventDefault());
  }

  // Measured once, when the first finger comes down; nothing moves the figure while it stays.
  at(event) {
    return { x: event.clientX - this.corner.left, y: event.clientY - this.corner.top };
  }

  down(event) {
    const figure = event.target.closest("[data-figure].is-shown");
    const isPan = event.pointerType === "mouse" && event.button === 1;
    if (!figure || event.target.closest("button") || (event.button !== 0 && !isPan)) {
      return;
    }
    if (!this.fingers.size) {
      this.corner = figure.getBoundingClientRect();
      this.spent = false;
    }
    this.capture(figure, event);
    this.fingers.set(event.pointerId, this.at(event));
    const isPalm = event.pointerType === "touch" && Math.max(event.width, event.height) > PALM_PX;
    if (isPan) {
      this.pinch = null;
      this.panning = true;
      event.preventDefault();
    } else if (isPalm || this.fingers.size > 1 || this.spent) {
      this.letGo();
      this.spent = true;
      this.startPinch();
    } else {
      this.hold(event);
    }
  }

  capture(figure, { pointerId }) {
    try {
      figure.setPointerCapture(pointerId);
    } catch {
      // the pointer is gone already, or was made by a script
    }
  }

  hold(event) {
    const at = this.at(event);
    const grabbed = this.board.grab(at);
    const dragMode = grabbed ? "drag" : this.board.isReaching ? "reach" : "aim";
    const lift = event.pointerType === "touch" && dragMode === "aim" ? FINGER_LIFT_PX : 0;
    this.held = { id: event.pointerId, start: at, now: at, lift, grabbed, dragMode, mode: "tap" };
    if (!grabbed) {
      this.held.timer = setTimeout(() => this.startAim(), HOLD_MS);
    }
  }

  get aimed() {
    const { now, lift } = this.held;
    return { x: now.x, y: now.y - lift };
  }

  startAim() {
    if (this.held?.mode === "tap") {
      this.held.mode = this.held.dragMode === "aim" ? "aim" : "rest";
      this.board.aim(this.aimed);
    }
  }

  move(event) {
    if (!this.fingers.has(event.pointerId)) {
      return;
    }
    const before = this.fingers.get(event.pointerId);
    const at = this.at(event);
    this.fingers.set(event.pointerId, at);
    if (this.panning) {
      this.board.panBy(at.x - before.x, at.y - before.y);
    } else if (this.pinch) {
      this.movePinch();
    } else if (this.held?.id === event.pointerId) {
      this.drag(at);
    }
  }

  drag(at) {
    const { held } = this;
    if (held.mode === "tap" || held.mode === "rest") {
      if (Math.hypot(at.x - held.start.x, at.y - held.start.y) <= STILL_PX) {
        return;
      }
      clearTimeout(held.timer);
      held.mode = held.dragMode;
    }
    held.now = at;
    if (held.mode === "drag") {
      held.grabbed.drag(this.by());
    } else if (held.mode === "reach") {
      this.board.reachFrom(held.start, at);
    } else {
      this.board.aim(this.aimed);
    }
  }

  // How far the finger moved: what was grabbed keeps its distance to the finger.
  by() {
    const { start, now } = this.held;
    return { x: now.x - start.x, y: now.y - start.y };
  }

  up(event) {
    const { held } = this;
    const isHeld = held?.id === event.pointerId;
    if (!this.leave(event) || !isHeld) {
      return;
    }
    clearTimeout(held.timer);
    this.held = null;
    if (held.grabbed) {
      if (held.mode === "drag") {
        held.grabbed.drop({ x: held.now.x - held.start.x, y: held.now.y - held.start.y });
      } else {
        held.grabbed.tap();
      }
    } else if (held.mode === "reach") {
      this.board.reachFrom(held.start, null);
      this.board.place(held.start, held.now);
    } else if (held.mode === "tap") {
      this.board.place(held.start, null);
    } else {
      this.board.aim(null);
      this.board.place({ x: held.now.x, y: held.now.y - held.lift }, null);
    }
  }

  cancel(event) {
    if (this.held?.id === event.pointerId) {
      this.letGo();
    }
    this.leave(event);
  }

  leave({ pointerId }) {
    const known = this.fingers.delete(pointerId);
    if (this.pinch && this.fingers.size < 2) {
      this.pinch = null;
      this.board.moving(false);
    }
    if (this.panning && !this.fingers.size) {
      this.panning = false;
    }
    return known;
  }

  // Whatever a finger was about to do is not done.
  letGo() {
    const { held } = this;
    if (!held) {
      return;
    }
    clearTimeout(held.timer);
    held.grabbed?.cancel();
    this.board.aim(null);
    this.board.reachFrom(held.start, null);
    this.held = null;
  }

  startPinch() {
    if (this.fingers.size === 2) {
      this.pinch = this.span();
      this.board.moving(true);
    }
  }

  span() {
    const [one, other] = [...this.fingers.values()];
    return { x: (one.x + other.x) / 2, y: (one.y + other.y) / 2, length: Math.max(1, Math.hypot(one.x - other.x, one.y - other.y)) };
  }

  movePinch() {
    const [before, now] = [this.pinch, this.span()];
    this.pinch = now;
    // Nearer first: a whole drawing cannot be moved.
    this.board.zoomAt(before, now.length / before.length);
    this.board.panBy(now.x - before.x, now.y - before.y);
  }

  wheel(event) {
    const figure = event.target.closest("[data-figure].is-shown");
    if (!figure) {
      return;
    }
    event.preventDefault();
    this.corner = figure.getBoundingClientRect();
    if (event.shiftKey) {
      this.board.panBy(-(event.deltaX || event.deltaY), 0);
    } else {
      this.board.zoomAt(this.at(event), Math.exp(-event.deltaY * (event.ctrlKey ? 0.01 : 0.002)));
    }
  }
}

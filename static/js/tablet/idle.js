// How long nobody has touched the tablet. Two clocks, because each can fail: the wall clock may be set back, the
// browser's own may stand still while the tablet sleeps. The one that has gone further counts.

const SHARED = "charting-input";
const STEP_MS = 1000;
const SET_BACK_MS = 60_000;
const INPUTS = ["pointerdown", "pointermove", "keydown", "wheel"];

function shared() {
  try {
    return Number(localStorage.getItem(SHARED)) || null;
  } catch {
    return null;
  }
}

function share(date) {
  try {
    localStorage.setItem(SHARED, String(date));
  } catch {
    // no storage: each tab counts for itself
  }
}

export class Idle {
  constructor() {
    // After a reload the count goes on from the last input.
    this.date = shared() ?? Date.now();
    this.mono = performance.now() - Math.max(0, Date.now() - this.date);
  }

  // Only what a person does counts: no answer of the server, no event made by a script.
  listen(isLocked) {
    const heard = (event) => {
      if (event.isTrusted && !isLocked() && performance.now() - this.mono >= STEP_MS) {
        this.touched();
      }
    };
    INPUTS.forEach((name) => window.addEventListener(name, heard, { capture: true, passive: true }));
    window.addEventListener("storage", ({ key, newValue }) => {
      if (key === SHARED && newValue) {
        Object.assign(this, { date: Number(newValue), mono: performance.now() });
      }
    });
  }

  touched() {
    Object.assign(this, { date: Date.now(), mono: performance.now() });
    share(this.date);
  }

  isOver(limitMs) {
    const byWall = Date.now() - this.date;
    return performance.now() - this.mono >= limitMs || byWall >= limitMs || byWall < -SET_BACK_MS;
  }
}

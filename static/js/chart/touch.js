// Fingers on the large drawing: a touch logs or chooses, a drag moves the mark under it or the enlarged drawing.

import { pixelsPerTenth, placeOf, rowUnder } from "./place.js";

const STILL_PX = 7;

export function attachTouch({ views, selection, onTouch }) {
  let held = null;

  views.root.addEventListener("pointerdown", (event) => {
    const figure = event.target.closest("[data-figure]");
    if (!figure || figure.dataset.figure !== views.shown || !event.isPrimary || event.button !== 0) {
      return;
    }
    if (!event.target.closest("svg")) {
      return;
    }
    const svg = views.svg;
    const place = placeOf(svg, event);
    held = { id: event.pointerId, event, place, row: rowUnder(svg, views.shown, place), moved: false };
    svg.setPointerCapture(event.pointerId);
  });

  views.root.addEventListener("pointermove", (event) => {
    if (held?.id !== event.pointerId) {
      return;
    }
    const [byX, byY] = [event.clientX - held.event.clientX, event.clientY - held.event.clientY];
    held.moved ||= Math.hypot(byX, byY) > STILL_PX;
    if (!held.moved) {
      return;
    }
    const scale = pixelsPerTenth(views.svg);
    if (held.row) {
      if (selection.key !== held.row.dataset.row) {
        selection.choose(held.row.dataset.row);
      }
      held.start ??= { ...selection.at };
      selection.moveTo(held.start.x + Math.round(byX / scale), held.start.y + Math.round(byY / scale));
    } else if (views.isNear) {
      views.pan(-(event.movementX || 0) / scale / 10, -(event.movementY || 0) / scale / 10);
    }
  });

  views.root.addEventListener("pointerup", (event) => {
    if (held?.id !== event.pointerId) {
      return;
    }
    const { moved, row, place } = held;
    held = null;
    if (moved) {
      selection.settleNow();
    } else if (row) {
      selection.choose(row.dataset.row);
    } else {
      onTouch({ view: views.shown, x_dmm: place.x, y_dmm: place.y });
    }
  });

  views.root.addEventListener("pointercancel", () => {
    held = null;
  });
}

// What is still to be done before the first point, in sight until it is: the time-out, and a reason for a stop that the
// session was started against.

import { button, drawOnChange, icon, node, on, patch } from "./dom.js";
import { askReason, attachGates, unsettledOf } from "./gates.js";
import { attachTimeOut, openTimeOut } from "./time_out.js";

function rows({ app, isOpen, state, points }) {
  if (!isOpen) {
    return [];
  }
  const unsettled = unsettledOf(state);
  const asks = app.day?.asks_time_out && !state.time_outs.length;
  return [
    unsettled.length ? button({ class: "button before__act before__act--stop", "data-before-reason": true }, icon("stop"), ` Started against a stop: ${unsettled[0].title} Write down why`) : null,
    asks ? button({ class: `button before__act${points.length ? " before__act--late" : ""}`, "data-before-pause": true }, icon(points.length ? "caution" : "state-due"),
      points.length ? " No time-out yet: points were given without it" : " Time-out before the first point") : null,
  ].filter(Boolean);
}

export function attachBefore(screen, root) {
  drawOnChange(screen, () => {
    const drawn = screen.state ? rows(screen) : [];
    root.hidden = !drawn.length;
    patch(root, drawn);
  });
  on(root, "click", "data-before-reason", () => askReason(screen));
  on(root, "click", "data-before-pause", () => openTimeOut(screen));
  attachGates();
  attachTimeOut();
}

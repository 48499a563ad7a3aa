// The charting screen. A touch on the face becomes a point at once: it goes into the outbox under an id made here and
// is sent; the answer brings marks, table, totals and flags as the server has them.

import { regionAtHand, showBeware } from "./beware.js";
import { loadDrawings } from "./drawings.js";
import { newKey, tapTime } from "./ids.js";
import { Outbox } from "./outbox.js";
import { applyParts, placeMarks } from "./parts.js";
import { announce, problem, toast } from "./say.js";
import { Selection } from "./selection.js";
import { inOrder, post } from "./server.js";
import { Settings } from "./settings.js";
import { attachTabs } from "./tabs.js";
import { attachTouch } from "./touch.js";
import { attachTray } from "./tray.js";
import { Views } from "./views.js";
import { showWaiting } from "./waiting.js";

const root = document.querySelector("[data-charting]");
const { session, user, pointsUrl } = root.dataset;
const form = root.querySelector("[data-settings]");
const places = JSON.parse(document.getElementById("chart-places").textContent);
// From the first moment on: sent by the browser itself, these forms would leave the page.
document.addEventListener("submit", (event) => {
  if (event.target.matches("[data-settings], [data-parts-form]")) {
    event.preventDefault();
  }
});
attachTabs(root.querySelector("[data-tabs]"));
await loadDrawings(root);
const settings = new Settings(form);
const views = new Views(root.querySelector("[data-views]"));
const outbox = new Outbox({
  // By author: what one person tapped is never sent in the name of the next one at the same tablet.
  name: `points:${session}:${user}`,
  send: ({ url, fields }, isWanted) => inOrder(() => (isWanted() ? post(url, fields) : { outcome: "dropped" })),
  onStored: (answer, { id }) => {
    announce(apply(answer.html));
    document.querySelector(`[data-row="${id}"]`)?.scrollIntoView({ block: "nearest" });
  },
  onChange: () => showWaiting(outbox, settings),
});

function apply(html) {
  const said = applyParts(html);
  showWaiting(outbox, settings);
  return said;
}

function log(fields) {
  const key = newKey();
  const about = { measure: settings.unitWord(fields.unit) };
  outbox.add({ id: key, kind: "log", url: pointsUrl, about, fields: { ...fields, key, tapped_at: tapTime() } });
}

// Log at a place with the settings of the panel, if they are complete.
function logAt(place) {
  if (selection.key) {
    selection.leave();
  }
  const { unit } = settings.read();
  const { names, field } = settings.missing();
  if (!unit) {
    problem(form, "Not logged: open a unit first, or touch the one you draw from.");
    document.querySelector("[data-unit], [data-open-unit]").focus();
  } else if (field) {
    problem(form, `Not logged: choose ${names.join(", ")} first, then touch the place again.`);
    field.focus();
  } else {
    problem(form, "");
    log({ ...settings.read(), ...place });
  }
}

const selection = new Selection({ url: pointsUrl, settings, views, apply, log, outbox });

// The twin of a point on the other side, with the settings it was given by.
function mirror(key) {
  const { dataset } = document.querySelector(`[data-row="${key}"]`);
  // Left first: else the panel of the chosen point would show, and then store, the settings of another.
  if (selection.key) {
    selection.leave();
  }
  settings.write(dataset);
  const place = { view: dataset.mirrorView, x_dmm: dataset.mirrorX, y_dmm: dataset.mirrorY };
  log({ ...settings.read(), ...place, region: dataset.region, side: dataset.mirrorSide });
  if (views.shown !== dataset.mirrorView) {
    views.show(dataset.mirrorView);
  }
}

// The button names the point it repeats: the chosen one, else the last one.
function showMirror(row) {
  const button = document.querySelector("[data-mirror]");
  if (button) {
    const chosen = row?.dataset ?? document.querySelector(`[data-row="${button.dataset.mirror}"]`)?.dataset;
    button.querySelector(".point-no").textContent = chosen?.number ?? "";
    button.hidden = !chosen || chosen.side === "midline";
  }
}

function addByRegion() {
  const region = form.querySelector("[data-region]").value;
  const side = form.querySelector("[data-side]").value;
  const place = places[region]?.[side];
  if (!place) {
    problem(form, region && side ? "The chart does not show that side of this region." : "Choose region and side.");
    return;
  }
  if (views.shown !== place.view) {
    views.show(place.view);
  }
  logAt({ ...place, region, side });
}

document.addEventListener("click", (event) => {
  const pressed = (attribute) => event.target.closest(`[${attribute}]`);
  const row = pressed("data-row");
  if (row) {
    selection.choose(row.dataset.row);
  } else if (pressed("data-mirror")) {
    mirror(selection.key || pressed("data-mirror").dataset.mirror);
  } else if (pressed("data-nudge")) {
    selection.nudge(...pressed("data-nudge").dataset.nudge.split(",").map(Number));
  } else if (pressed("data-remove")) {
    selection.remove();
  } else if (pressed("data-done")) {
    selection.leave();
  } else if (pressed("data-add-by-region")) {
    addByRegion();
  } else if (pressed("data-by-region")) {
    const place = form.querySelector("[data-how-place]");
    place.hidden = !place.hidden;
    pressed("data-by-region").setAttribute("aria-expanded", String(!place.hidden));
  } else if (pressed("data-beware-chip")) {
    document.getElementById("tab-flags").click();
    document.querySelector("[data-bewares]").scrollIntoView({ block: "nearest" });
  } else if (pressed("data-sign") && outbox.open.length) {
    event.preventDefault();
    toast("Some points are not stored yet. Settle them first; they are listed above the table.", { level: "error" });
    document.querySelector("[data-waiting]").scrollIntoView({ block: "nearest" });
  }
});

form.addEventListener("change", () => {
  if (selection.key) {
    selection.change();
  }
  showBeware(regionAtHand());
});

document.addEventListener("keydown", (event) => {
  if (selection.heard(event)) {
    event.preventDefault();
  }
});

document.addEventListener("chart:parts", () => settings.showUnit());
document.addEventListener("chart:chosen", () => {
  showBeware(regionAtHand());
  showMirror(selection.row);
});
window.addEventListener("online", () => outbox.flush());
document.addEventListener("visibilitychange", () => document.hidden || outbox.flush());

placeMarks(document.querySelector("template[data-marks-source]").content);
settings.showUnit();
showBeware(regionAtHand());
attachTouch({ views, selection, onTouch: logAt });
attachTray({ apply, settings, selection });
// What the table holds already is stored: its answer was lost, not the point.
outbox.compare((key) => document.querySelector(`[data-row="${key}"]`) !== null);

// The page of a comparison: two pictures beside each other, one drawn over the other like a curtain, or one shining through
// the other. Both are enlarged and moved together. Fingers, wheel and keys do what the buttons do.

import { Gestures } from "../charting/gestures.js";
import { Sight } from "../charting/sight.js";
import { paint, panesOf } from "./painting.js";

const GAP_PX = 8;
const NEAR_EDGE_PX = 32;
const STEP_PER_CENT = 2;
const PAN_PX = 48;
const ZOOM_STEP = 1.5;
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const SHARE_SAYS = { curtain: "Edge of the curtain", over: "How much of the second picture shows" };

const page = document.querySelector("[data-comparing]");
const part = (name) => page.querySelector(`[data-${name}]`);
const { frame, layers } = JSON.parse(document.getElementById("drawn-comparison").textContent);
const canvas = part("canvas");
const range = part("share");
const sight = new Sight(frame);
// Per cent, of each mode that has one.
const shares = { curtain: 50, over: 50 };

let mode = "beside";
let images = null;
let isAsked = false;

function panes() {
  return panesOf(mode, { width: canvas.clientWidth, height: canvas.clientHeight }, GAP_PX);
}

// The pane a place of the canvas is in, and the place in it.
function inPane({ x, y }) {
  const pane = panes().findLast(({ left }) => x >= left) ?? panes()[0];
  return { x: x - pane.left, y };
}

function draw() {
  isAsked = false;
  const dense = window.devicePixelRatio || 1;
  const [pane] = panes();
  sight.pixels = { width: pane.width, height: pane.height };
  sight.lookAt(sight.middle.x, sight.middle.y);
  canvas.width = Math.round(canvas.clientWidth * dense);
  canvas.height = Math.round(canvas.clientHeight * dense);
  const context = canvas.getContext("2d");
  context.scale(dense, dense);
  if (images) {
    const shown = layers.map((layer, index) => ({ ...layer, image: images[index] }));
    paint(context, { mode, share: shares[mode] / 100, panes: panes(), sight, layers: shown });
  }
  part("zoom").textContent = `${Math.round(sight.zoom * 100)} %`;
}

function drawSoon() {
  if (!isAsked) {
    isAsked = true;
    requestAnimationFrame(draw);
  }
}

function choose(chosen) {
  mode = chosen;
  for (const button of page.querySelectorAll("[data-mode]")) {
    button.setAttribute("aria-pressed", String(button.dataset.mode === mode));
  }
  canvas.dataset.shown = mode;
  part("share-tool").hidden = mode === "beside";
  if (mode !== "beside") {
    part("share-says").textContent = SHARE_SAYS[mode];
    range.value = shares[mode];
  }
  drawSoon();
}

function setShare(value) {
  shares[mode] = Math.max(0, Math.min(100, value));
  range.value = shares[mode];
  drawSoon();
}

function zoomBy(factor, at = { x: sight.pixels.width / 2, y: sight.pixels.height / 2 }) {
  sight.zoomAt(at, factor);
  drawSoon();
}

function panBy(x, y) {
  sight.panBy(x, y);
  drawSoon();
}

// One finger moves the curtain where it can be taken hold of, else both pictures.
function grab(at) {
  const from = shares.curtain;
  const edge = (canvas.clientWidth * from) / 100;
  const isCurtain = mode === "curtain" && (sight.zoom === 1 || Math.abs(at.x - edge) <= NEAR_EDGE_PX);
  let before = { x: 0, y: 0 };
  const drag = (by) => {
    if (isCurtain) {
      setShare(from + (by.x / canvas.clientWidth) * 100);
    } else {
      panBy(by.x - before.x, by.y - before.y);
    }
    before = by;
  };
  return { drag, drop() {}, cancel() {}, tap() {} };
}

async function loaded(address) {
  const image = new Image();
  image.src = address;
  await image.decode();
  return image;
}

// which: "preview" or "full". Each address is asked for once.
async function load(which) {
  const asked = new Map();
  for (const { [which]: address } of layers) {
    asked.set(address, asked.get(address) ?? loaded(address));
  }
  try {
    images = await Promise.all(layers.map(({ [which]: address }) => asked.get(address)));
    part("said").textContent = which === "full" ? "Shown in full size." : "";
    canvas.dataset.loaded = which;
    drawSoon();
  } catch {
    part("said").textContent = "A picture could not be loaded. Load the page again.";
  }
}

function keyDown(event) {
  if (event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey) {
    return;
  }
  const number = event.target === range && !document.documentElement.hasAttribute("data-keys-off")
    && page.querySelector(`[data-mode][data-key="${CSS.escape(event.key)}"]`);
  if (number) {
    choose(number.dataset.mode);
    return;
  }
  const step = ARROWS[event.key];
  if (!step || event.target.closest("input, select, textarea, dialog[open]")) {
    return;
  }
  if (mode !== "beside" && step[0] && !event.shiftKey) {
    setShare(shares[mode] + step[0] * STEP_PER_CENT);
  } else if (sight.zoom > 1) {
    panBy(-step[0] * PAN_PX, -step[1] * PAN_PX);
  } else {
    return;
  }
  event.preventDefault();
}

new Gestures(part("stage"), {
  grab,
  panBy,
  zoomAt: (at, factor) => zoomBy(factor, inPane(at)),
  aim() {},
  reachFrom() {},
  place() {},
  moving() {},
});
page.addEventListener("click", ({ target }) => {
  const button = target.closest("[data-mode]");
  if (button) {
    choose(button.dataset.mode);
  }
});
range.addEventListener("input", () => setShare(Number(range.value)));
part("nearer").addEventListener("click", () => zoomBy(ZOOM_STEP));
part("farther").addEventListener("click", () => zoomBy(1 / ZOOM_STEP));
part("whole").addEventListener("click", () => {
  sight.whole();
  drawSoon();
});
part("full").addEventListener("click", ({ currentTarget }) => {
  currentTarget.disabled = true;
  part("said").textContent = "Loading both in full size …";
  load("full");
});
document.addEventListener("keydown", keyDown);
new ResizeObserver(drawSoon).observe(canvas);

choose("beside");
load("preview");

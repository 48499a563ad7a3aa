// A session that is only read: the drawings with the marks as the server drew them, views, layers and enlarging.

import { Layers } from "../charting/layers.js";
import { loadDrawings } from "./drawings.js";
import { Views } from "./views.js";

function placeMarks(root, source) {
  for (const holder of source.querySelectorAll("svg[data-marks-of]")) {
    const { marksOf: view, count } = holder.dataset;
    const old = root.querySelector(`[data-figure="${view}"] g[data-marks="today"]`);
    old.replaceWith(document.importNode(holder.querySelector("g"), true));
    root.querySelector(`[data-count-of="${view}"]`).textContent = count === "0" ? "" : count;
  }
}

const root = document.querySelector("[data-reading]");
new Layers(root, root.querySelector("[data-layers]"), () => {});
await loadDrawings(root);
placeMarks(root, document.querySelector("template[data-marks-source]").content);
new Views(root);

// A session that is only read: the drawings with their marks, views, layers and tabs.

import { loadDrawings } from "./drawings.js";
import { placeMarks } from "./parts.js";
import { attachTabs } from "./tabs.js";
import { Views } from "./views.js";

document.querySelectorAll("[data-tabs]").forEach(attachTabs);
await loadDrawings(document);
placeMarks(document.querySelector("template[data-marks-source]").content);
new Views(document.querySelector("[data-views]"));

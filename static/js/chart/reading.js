// A session that is only read: the drawings with their marks, views, layers and tabs.

import { loadDrawings } from "./drawings.js";
import { placeMarks } from "./parts.js";
import { attachTabs } from "./tabs.js";
import { warnOfUnsent } from "./unsent.js";
import { Views } from "./views.js";

document.querySelectorAll("[data-tabs]").forEach(attachTabs);
document.querySelectorAll("[data-unsent]").forEach(warnOfUnsent);
await loadDrawings(document);
placeMarks(document.querySelector("template[data-marks-source]").content);
new Views(document.querySelector("[data-views]"));

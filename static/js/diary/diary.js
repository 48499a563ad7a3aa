// The diary's page (templates/diary/base.html): what it is made of.

import "./agenda.js";
import { isPressed } from "./drag.js";
import "./free_time.js";
import "./keys.js";
import { holdWhile } from "./live.js";
import { isUnderWay } from "./move.js";
import "./now.js";
import "./panel.js";

// What is under the finger or picked up is not taken away by an answer of the server.
holdWhile(() => isPressed() || isUnderWay());
document.dispatchEvent(new Event("diary:shown"));

// The password was given: the charting screen is uncovered as well, and work goes on where it was.

import { unmark } from "./marker.js";

unmark("locked");
location.replace(document.querySelector("[data-taken-back]").href);

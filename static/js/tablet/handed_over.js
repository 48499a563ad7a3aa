// On a page that a patient holds: the charting screen, which opens without the clinic's server, stays covered.

import { mark, marked } from "./marker.js";

if (!marked("locked")) {
  mark("locked", { user: Number(document.documentElement.dataset.user), session: marked("session") });
}

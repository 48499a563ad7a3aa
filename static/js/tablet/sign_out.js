// On every page beside the charting screen: nobody signs out of a tablet past what waits on it.

import { watchSignOut } from "./leaving.js";

const form = document.querySelector("form[data-sign-out]");
if (form) {
  watchSignOut(form, document.querySelector("#leaving"));
}

// Putting the charting screen on the tablet's home screen, where its storage is not cleared by the browser.

import { node } from "../charting/dom.js";
import { openSheet } from "../charting/sheet.js";

// iPads call themselves Macs; a Mac has no touch screen.
function isApple() {
  return /iPad|iPhone/.test(navigator.userAgent) || (navigator.userAgent.includes("Macintosh") && navigator.maxTouchPoints > 1);
}

function isInstalled() {
  return matchMedia("(display-mode: standalone)").matches || navigator.standalone === true;
}

function explain() {
  openSheet(document.querySelector("#install-help"), {
    title: "Install on this tablet",
    body: [
      node("ol", {}, node("li", {}, "Press Share, the square with an arrow upwards."), node("li", {}, "Choose Add to Home Screen, then Add."),
        node("li", {}, "Open Charting from the home screen and sign in there once: it keeps its own storage.")),
      node("p", { class: "quiet" }, "A page in a browser tab can lose what it keeps after some days without a visit; the one on the home screen does not."),
    ],
  });
}

export function attachInstall() {
  const entry = document.querySelector("[data-install]");
  let prompt = null;
  window.addEventListener("beforeinstallprompt", (event) => {
    event.preventDefault();
    prompt = event;
    entry.hidden = false;
  });
  window.addEventListener("appinstalled", () => (entry.hidden = true));
  entry.hidden = isInstalled() || !isApple();
  entry.addEventListener("click", () => {
    if (!prompt) {
      explain();
      return;
    }
    prompt.prompt();
    prompt = null;
    entry.hidden = true;
  });
}

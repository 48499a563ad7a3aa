// Registers the service worker, and brings in a new version calmly: at the next load, or when a person wants it now.

import { button, icon, node, patch } from "../charting/dom.js";

const LOOK_MS = 60 * 60 * 1000;
const RELOADED = "charting-new-version";

// Found before the lock takes it out of the page: what is drawn there meanwhile comes back with it.
const place = document.querySelector("[data-device]");
const canOpenOffline = "serviceWorker" in navigator;

function banner() {
  const act = button({ "data-new-version": true }, "Load it now");
  const words = "It is taken at the next load. What waits on this tablet stays.";
  patch(
    place,
    node("div", { class: "flag flag--note banner", role: "note" }, icon("note"),
      node("div", { class: "flag__body" }, node("p", { class: "flag__title" }, "A new version is ready"), node("p", {}, words)),
      node("div", { class: "banner__acts" }, act)),
  );
}

// The new worker takes over all tabs; this one loads its page anew.
function takeOver(waiting) {
  sessionStorage.setItem(RELOADED, "yes");
  navigator.serviceWorker.addEventListener("controllerchange", () => location.reload(), { once: true });
  waiting.postMessage("take over");
}

// Just after a load nothing is under way yet; but never twice in a row.
function isFresh() {
  const reloaded = sessionStorage.getItem(RELOADED);
  sessionStorage.removeItem(RELOADED);
  return !reloaded;
}

function announce(registration) {
  const installing = registration.installing;
  installing?.addEventListener("statechange", () => {
    if (installing.state === "installed" && navigator.serviceWorker.controller) {
      banner();
    }
  });
}

// Gives the registration, or null where the browser offers none (no https). Never throws.
export async function keepForOffline() {
  if (!canOpenOffline) {
    return null;
  }
  try {
    const registration = await navigator.serviceWorker.register("/charting/worker.js");
    if (registration.waiting && navigator.serviceWorker.controller && isFresh()) {
      takeOver(registration.waiting);
      return registration;
    }
    registration.addEventListener("updatefound", () => announce(registration));
    announce(registration);
    document.addEventListener("click", ({ target }) => {
      if (target.closest("[data-new-version]") && registration.waiting) {
        takeOver(registration.waiting);
      }
    });
    const look = () => document.visibilityState === "visible" && registration.update().catch(() => null);
    setInterval(look, LOOK_MS);
    document.addEventListener("visibilitychange", look);
    return registration;
  } catch {
    // Signed out, no network, or refused by the browser: the screen works all the same while it is open.
    return null;
  }
}

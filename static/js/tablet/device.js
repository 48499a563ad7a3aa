// The tablet as a device: opening without network, the lock, its code, leaving, installing.

import { attachCodeSheet } from "./code_sheet.js";
import { stayOut } from "./departed.js";
import { openName } from "./device_names.js";
import { attachInstall } from "./install.js";
import { attachLeaving } from "./leaving.js";
import { attachLock } from "./lock.js";
import { keepForOffline } from "./offline.js";
import { tellOfOthers } from "./others.js";

export { stayOut };

function welcome(user) {
  navigator.locks?.request(openName(user.id), { mode: "shared" }, () => new Promise(() => {}));
  tellOfOthers(user).catch((error) => console.warn("What else this tablet keeps could not be read.", error));
}

// The tablet may know a person from before, and hear from the clinic that another one has signed in.
function welcomeEach(app) {
  let known = null;
  const look = () => {
    if (app.user && app.user.id !== known) {
      known = app.user.id;
      welcome(app.user);
    }
  };
  app.addEventListener("change", look);
  look();
}

// What was chosen in the menu closes it, so that no open menu stays behind a dialog or the lock.
function closeMenu({ target }) {
  const menu = target.closest(".menu__item")?.closest("details[data-menu]");
  if (menu) {
    menu.open = false;
  }
}

// Before anything clinical is drawn; fulfilled once the tablet is open.
export async function attachDevice(app) {
  attachCodeSheet(app);
  attachInstall();
  attachLeaving(app);
  keepForOffline();
  document.addEventListener("click", closeMenu);
  const lock = await attachLock(app);
  welcomeEach(app);
  return lock;
}

// The tablet as a device: opening without network, the lock, its code, leaving, installing.

import { attachCodeSheet } from "./code_sheet.js";
import { stayOut } from "./departed.js";
import { openName } from "./device_names.js";
import { attachInstall } from "./install.js";
import { attachLeaving } from "./leaving.js";
import { attachLock } from "./lock.js";
import { keepForOffline } from "./offline.js";

export { stayOut };

function holdOpen({ user }) {
  if (user) {
    navigator.locks?.request(openName(user.id), { mode: "shared" }, () => new Promise(() => {}));
  }
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
  holdOpen(app);
  attachCodeSheet(app);
  attachInstall();
  attachLeaving(app);
  keepForOffline();
  document.addEventListener("click", closeMenu);
  return attachLock(app);
}

// The sign-in page. What an ended session left on this tablet is deleted, but for what never reached the clinic; and
// whoever signs in next sees how much of whose waits here, never what it is.

import { leaveTablet, waitingOnTablet } from "../charting/departure.js";
import { TabletStore } from "../charting/store.js";
import { endBefore } from "./departed.js";
import { openName } from "./device_names.js";
import { unmark } from "./marker.js";
import { emptyButWaiting, othersHere } from "./others.js";
import { get } from "./server.js";

const count = (number) => (number === 1 ? "1 entry" : `${number} entries`);

// A charting screen that is open in another tab keeps its data: it waits for this sign-in.
function unlessOpen(user, task) {
  return navigator.locks ? navigator.locks.request(openName(user.id), { ifAvailable: true }, (lock) => lock && task()) : task();
}

async function clearEnded(user, waiting) {
  const { signedOut } = await get("/tablets/session/");
  if (signedOut) {
    unmark("session");
    await unlessOpen(user, () => (waiting ? emptyButWaiting(user.id) : leaveTablet()));
  }
}

function line(...parts) {
  const paragraph = document.createElement("p");
  paragraph.className = "quiet";
  paragraph.append(...parts.map((part) => {
    const name = document.createElement("bdi");
    name.textContent = part.name ?? "";
    return typeof part === "string" ? part : name;
  }));
  return paragraph;
}

function waitsFor({ name, count: number }) {
  return line(`${count(number)} of `, { name }, " on this tablet ", number === 1 ? "is" : "are", " not stored in the clinic yet. Sent when ", { name }, " signs in here.");
}

async function tell(user, waiting) {
  const tablet = new TabletStore();
  const parcels = await tablet.handedOver().finally(() => tablet.close());
  const others = await othersHere(user?.id);
  const lines = parcels.map(({ author, operations, pictures }) =>
    line(`${count(operations.length + (pictures?.length ?? 0))} of `, author, " handed over on this tablet. Sign in and open Charting to take over."));
  lines.unshift(...(user && waiting ? [{ ...user, count: waiting }] : []).concat(others).map(waitsFor));
  const place = document.querySelector("[data-left-here]");
  place.replaceChildren(...lines);
  place.hidden = !lines.length;
}

async function open() {
  const databases = await indexedDB.databases?.();
  if (databases && !databases.some(({ name }) => name === "charting-tablet")) {
    // Nobody charts on this device.
    return;
  }
  await endBefore();
  const { user, count: waiting } = await waitingOnTablet();
  if (user) {
    await clearEnded(user, waiting);
  }
  await tell(user, waiting);
}

open().catch((error) => console.warn("What this tablet keeps could not be read.", error));

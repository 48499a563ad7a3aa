// The sign-in page. What an ended session left on this tablet is deleted, but for what never reached the clinic; and
// whoever signs in next sees how much of whose waits here, never what it is.

import { leaveTablet, waitingOnTablet } from "../charting/departure.js";
import { TabletStore, UserStore } from "../charting/store.js";
import { endBefore } from "./departed.js";
import { openName } from "./device_names.js";
import { unmark } from "./marker.js";
import { get } from "./server.js";

const count = (number) => (number === 1 ? "1 entry" : `${number} entries`);

// The snapshots, the day, the steps to undo and the photographs that the clinic has.
function emptyButWaiting(user) {
  const store = new UserStore(user.id);
  const names = ["sessions", "history", "day", "pictures"];
  return store.transact("readwrite", names, (sessions, history, day, pictures) => {
    [sessions, history, day].forEach((each) => each.clear());
    pictures.openCursor().onsuccess = ({ target: { result: cursor } }) => {
      if (cursor) {
        if (cursor.value.state === "sent") {
          cursor.delete();
        }
        cursor.continue();
      }
    };
  }).finally(() => store.close());
}

// A charting screen that is open in another tab keeps its data: it waits for this sign-in.
function unlessOpen(user, task) {
  return navigator.locks ? navigator.locks.request(openName(user.id), { ifAvailable: true }, (lock) => lock && task()) : task();
}

async function clearEnded(user, waiting) {
  const { signedOut } = await get("/tablets/session/");
  if (signedOut) {
    unmark("session");
    await unlessOpen(user, () => (waiting ? emptyButWaiting(user) : leaveTablet()));
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

async function tell(user, waiting) {
  const tablet = new TabletStore();
  const parcels = await tablet.handedOver().finally(() => tablet.close());
  const lines = parcels.map(({ author, operations, pictures }) =>
    line(`${count(operations.length + (pictures?.length ?? 0))} of `, author, " handed over on this tablet. Sign in and open Charting to take over."));
  if (user && waiting) {
    lines.unshift(line(`${count(waiting)} of `, user, " on this tablet are not stored in the clinic yet. They go out when ", user, " signs in here."));
  }
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

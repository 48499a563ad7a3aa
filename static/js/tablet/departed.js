// A tablet that was signed out without network shows nothing until the session has ended at the clinic as well.

import { marked, unmark } from "./marker.js";
import { signOut } from "./server.js";

const DOOR = "/staff/sign-in/";
const AGAIN_MS = 5000;

async function end() {
  if (!(await signOut())) {
    return false;
  }
  unmark("leaving");
  return true;
}

// On the charting screen, before anything of it starts: never fulfilled while the mark stands.
export async function stayOut() {
  if (!marked("leaving")) {
    return;
  }
  const cover = document.querySelector("[data-departed]");
  const go = async () => (await end()) && location.replace(DOOR);
  if (await go()) {
    return new Promise(() => {});
  }
  cover.showModal();
  cover.addEventListener("cancel", (event) => event.preventDefault());
  cover.addEventListener("close", () => cover.showModal());
  window.addEventListener("online", go);
  setInterval(go, AGAIN_MS);
  return new Promise(() => {});
}

// On the sign-in page: the earlier session ends before the next person signs in.
export async function endBefore() {
  if (marked("leaving")) {
    await end();
  }
}

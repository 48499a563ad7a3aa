// Signing out of a tablet: nothing clinical stays on it, unless it still waits and is handed over by name.
//
// On the charting screen [data-leave] asks; on every other page the sign-out form, form[data-sign-out=<user id>].
// Without network the tablet locks itself out: it shows nothing any more, and ends the session at the next contact.

import { leaveTablet, waitingOnTablet } from "../charting/departure.js";
import { mark, unmark } from "./marker.js";
import { signOut } from "./server.js";

const DOOR = "/staff/sign-in/";
const CHARTING = "/charting/";

function words(count) {
  if (!count) {
    return "";
  }
  return count === 1 ? "1 entry is not stored in the clinic yet." : `${count} entries are not stored in the clinic yet.`;
}

class Leaving {
  // app: the charting screen's, or null on another page. user(): the id. finish(): how the page signs out.
  constructor(dialog, { app = null, user, finish }) {
    Object.assign(this, { dialog, app, user, finish, going: false });
    const press = (name, act) => dialog.querySelector(`[data-leaving-${name}]`).addEventListener("click", act);
    press("hand-over", () => this.leave({ handOver: true }));
    press("send", () => this.send());
  }

  say(text) {
    this.dialog.querySelector("[data-leaving-said]").textContent = text;
  }

  async leave({ handOver = false } = {}) {
    // Before the attempt: another tab that hears of it, or a tablet that goes off in between, stays locked out.
    mark("leaving", { user: this.user() });
    this.going = true;
    const outcome = await (this.app ? this.app.leave({ handOver }) : leaveTablet({ handOver }));
    if (outcome.left) {
      unmark("locked");
      unmark("session");
      // A note that was being typed when the page was left.
      sessionStorage.clear();
      await this.finish();
      return;
    }
    unmark("leaving");
    this.going = false;
    this.dialog.querySelector("[data-leaving-waiting]").textContent = words(outcome.waiting);
    this.say(outcome.message || this.decisions());
    if (!this.dialog.open) {
      this.dialog.showModal();
    }
  }

  // Of the charting screen's; another page does not know how each one stands.
  decisions() {
    const count = (this.app?.waiting ?? []).filter(({ state }) => state === "refused" || state === "conflict").length;
    const waits = count === 1 ? "1 entry waits" : `${count} entries wait`;
    return count ? `${waits} for your decision, which no colleague can take. Stay, and settle what you can in the list.` : "";
  }

  async send() {
    if (!this.app) {
      location.assign(CHARTING);
      return;
    }
    this.say("Sending …");
    await this.app.flush();
    if (!this.app.waiting.length) {
      await this.leave();
      return;
    }
    const away = this.app.contact.state !== "ok";
    this.dialog.querySelector("[data-leaving-waiting]").textContent = words(this.app.waiting.length);
    this.say(away ? "The clinic cannot be reached, or you are signed out there." : this.decisions() || "Not everything could be sent. Stay, and look at what waits in the list.");
  }
}

function openAnew() {
  location.replace(CHARTING);
  location.reload();
}

async function endSession() {
  if (await signOut()) {
    unmark("leaving");
    location.replace(DOOR);
  } else {
    openAnew();
  }
}

export function attachLeaving(app) {
  const leaving = new Leaving(document.querySelector("#leaving"), { app, user: () => app.user?.id ?? 0, finish: endSession });
  document.addEventListener("click", ({ target }) => {
    if (target.closest("[data-leave]")) {
      leaving.leave();
    }
  });
  // The person left in another tab.
  app.addEventListener("left", () => leaving.going || openAnew());
  return leaving;
}

// Every other page: the form goes as it is where this tablet keeps nothing of this person.
export function watchSignOut(form, dialog) {
  const leaving = new Leaving(dialog, { user: () => Number(form.dataset.signOut), finish: () => form.submit() });
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const { user } = await waitingOnTablet().catch(() => ({ user: null }));
    if (String(user?.id) !== form.dataset.signOut) {
      form.submit();
      return;
    }
    await leaving.leave();
  });
}

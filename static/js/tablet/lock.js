// Covers and empties the charting screen of a tablet that was left alone, in all tabs at once and over a reload. What
// was under way stays in memory, and what waits goes on being sent. Opened by the quick code, or by the password.
//
//   await attachLock(app)   before anything is drawn: fulfilled once the tablet is open
// The app's events are kept from the screen while it is covered, so this must listen before the screen does.

import { bringBack, takeAway } from "./aside.js";
import { TRIES, canUseCodes, forgive, hasCode, triesLeft, verify } from "./code.js";
import { Idle } from "./idle.js";
import { mark, marked, onMarked, unmark } from "./marker.js";
import { get, post } from "./server.js";

const TICK_MS = 2000;
const DEFAULT_MINUTES = 5;
const LONGEST = 8;
const EVENTS = ["change", "contact", "waiting", "alerts"];
const BLOCKED = `${TRIES} wrong tries. Only your password opens this tablet now; that needs contact with the clinic.`;

class Lock {
  constructor(app, cover) {
    Object.assign(this, { app, cover, idle: new Idle(), aside: null, isLocked: false });
    Object.assign(this, { digits: "", busy: false, opened: null, alerts: [] });
    this.part = Object.fromEntries(["user", "waiting", "problem", "code", "dots", "password", "other", "title"]
      .map((name) => [name, cover.querySelector(`[data-lock-${name}]`)]));
    this.signIn = cover.querySelector("[data-lock-sign-in]");
  }

  get minutes() {
    return this.app.day?.lock_minutes ?? DEFAULT_MINUTES;
  }

  start() {
    EVENTS.forEach((name) => this.app.addEventListener(name, (event) => this.kept(event)));
    window.addEventListener("keydown", (event) => this.key(event), { capture: true });
    this.cover.addEventListener("cancel", (event) => event.preventDefault());
    this.cover.addEventListener("close", () => this.isLocked && this.cover.showModal());
    this.cover.addEventListener("click", ({ target }) => this.press(target.closest("[data-lock-key]")?.dataset.lockKey));
    this.part.code.addEventListener("submit", (event) => this.tried(event, () => this.tryCode()));
    this.part.password.addEventListener("submit", (event) => this.tried(event, () => this.tryPassword()));
    this.part.other.addEventListener("click", () => {
      this.say("");
      this.show(this.part.code.hidden ? "code" : "password");
    });
    this.idle.listen(() => this.isLocked);
    onMarked("locked", (value) => (value ? this.shut() : this.uncover()));
    this.app.addEventListener("locked", () => this.shut());
    this.app.addEventListener("unlocked", () => this.uncover());
    setInterval(() => this.look(), TICK_MS);
    for (const name of ["visibilitychange", "focus", "pageshow"]) {
      window.addEventListener(name, () => this.look(), { capture: true });
    }
    this.look();
  }

  // Locks when it is time; a locked tablet is opened by a new sign-in.
  look() {
    const { user } = this.app;
    if (!user) {
      return;
    }
    const note = marked("locked");
    if (note && note.user !== user.id) {
      unmark("locked");
    } else if (note || this.idle.isOver(this.minutes * 60_000)) {
      this.shut();
    }
  }

  lock() {
    if (this.app.user) {
      this.shut();
    }
  }

  shut() {
    if (this.isLocked) {
      return;
    }
    // At once: taking the focus below is heard by look(), which asks to lock.
    this.isLocked = true;
    if (!marked("locked")) {
      mark("locked", { user: this.app.user.id, session: marked("session") });
    }
    // The dialog takes the focus first: a field that is being typed in is thereby kept, as when it is left by hand.
    this.cover.showModal();
    this.aside = takeAway(this.cover);
    this.part.title.focus();
    this.tell();
    this.ways();
    this.recognise();
    this.app.lock();
  }

  uncover() {
    if (!this.isLocked) {
      return;
    }
    const { aside } = this;
    this.isLocked = false;
    this.idle.touched();
    this.digits = "";
    this.part.password.reset();
    this.cover.close();
    bringBack(aside);
    this.drawAnew();
    this.opened?.();
  }

  open() {
    unmark("locked");
    this.app.unlock();
  }

  drawAnew() {
    const { app } = this;
    const say = (name, detail) => app.dispatchEvent(new CustomEvent(name, { detail }));
    say("change", { sessions: new Set(app.sessionKeys) });
    say("contact", app.contact);
    say("waiting", {});
    this.alerts.splice(0).forEach((sentences) => say("alerts", sentences));
  }

  // Behind the cover nothing is drawn; it is drawn anew when the tablet is opened.
  kept(event) {
    if (!this.isLocked) {
      return;
    }
    event.stopImmediatePropagation();
    if (event.type === "alerts") {
      this.alerts.push(event.detail);
    }
    this.tell();
  }

  tell() {
    const { user, waiting } = this.app;
    this.part.user.textContent = user?.name ?? "";
    const count = waiting.length;
    const asked = waiting.filter(({ state }) => state === "refused" || state === "conflict").length;
    const words = count === 1 ? "1 entry waits on this tablet" : `${count} entries wait on this tablet`;
    const next = asked ? `A decision is asked for about ${asked}.` : "Sent as soon as there is contact.";
    this.part.waiting.textContent = count ? `${words}. ${next}` : "Everything is stored in the clinic.";
    this.signIn.href = document.body.dataset.signIn + encodeURIComponent(location.hash);
  }

  // Which ways there are to open it.
  async ways() {
    const set = await hasCode();
    const left = set ? await triesLeft() : 0;
    this.part.other.hidden = !left;
    if (set && !left) {
      this.say(BLOCKED);
    } else {
      this.say(canUseCodes() ? "" : "This connection is not secure, so there is no quick code.");
    }
    this.show(left ? "code" : "password");
  }

  show(way) {
    this.part.code.hidden = way !== "code";
    this.part.password.hidden = way !== "password";
    this.part.other.textContent = way === "code" ? "Use the password" : "Use the code";
    this.digits = "";
    this.dots();
    (way === "password" ? this.part.password.elements.password : this.part.title).focus();
  }

  say(text) {
    this.part.problem.textContent = text;
    this.part.problem.hidden = !text;
  }

  dots() {
    const count = this.digits.length;
    this.part.dots.textContent = "●".repeat(count);
    this.part.dots.setAttribute("aria-label", `${count} digits typed`);
  }

  press(key) {
    if (!key || this.busy || this.part.code.hidden) {
      return;
    }
    this.digits = key === "Backspace" ? this.digits.slice(0, -1) : (this.digits + key).slice(0, LONGEST);
    this.dots();
  }

  // The screen behind has keys of its own; none of them is heard here.
  key(event) {
    if (!this.isLocked) {
      return;
    }
    event.stopImmediatePropagation();
    if (event.key === "Escape") {
      event.preventDefault();
    } else if (!this.part.code.hidden && /^\d$|^Backspace$/.test(event.key)) {
      event.preventDefault();
      this.press(event.key);
    } else if (event.key === "Enter" && !this.part.code.hidden && !event.target.closest("button, a")) {
      event.preventDefault();
      this.part.code.requestSubmit();
    }
  }

  async tried(event, attempt) {
    event.preventDefault();
    if (this.busy) {
      return;
    }
    this.busy = true;
    try {
      await attempt();
    } finally {
      this.busy = false;
    }
  }

  async tryCode() {
    const { ok, left } = await verify(this.digits);
    this.digits = "";
    this.dots();
    if (ok) {
      this.open();
    } else if (left) {
      this.say(`This is not your code. ${left === 1 ? "One try is left." : `${left} tries are left.`}`);
    } else {
      await this.ways();
    }
  }

  async tryPassword() {
    const { password } = this.part.password.elements;
    const answer = await post("/tablets/unlock/", { password: password.value });
    password.value = "";
    if (!answer.ok) {
      this.say(answer.signedOut ? "You are signed out at the clinic. Sign in below; this session opens again." : answer.message);
      password.focus();
      return;
    }
    await forgive();
    this.open();
  }

  // The name of this sign-in; another one than at the locking says that the password was given anew.
  async recognise() {
    const answer = await get("/tablets/session/");
    if (!answer.ok || answer.data.user !== this.app.user?.id) {
      return;
    }
    const before = marked("locked")?.session;
    mark("session", answer.data.session);
    if (this.isLocked && before && before !== answer.data.session) {
      await forgive();
      this.open();
    }
  }
}

export async function attachLock(app) {
  const lock = new Lock(app, document.querySelector("[data-lock]"));
  lock.start();
  document.addEventListener("click", ({ target }) => target.closest("[data-lock-now]") && lock.lock());
  if (lock.isLocked) {
    await new Promise((resolve) => (lock.opened = resolve));
  } else {
    lock.recognise();
  }
  return lock;
}

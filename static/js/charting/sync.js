// The way to the server and back: one sending at a time over all tabs, again after 1, 2, 5, 10, then every 30 seconds
// while nobody answers. An operation leaves the queue only when the server says that it is stored for good, and in the
// same transaction its session's new snapshot comes in.

import { token } from "../token.js";
import { BATCH, keptWhere, needsPerson, sendable } from "./operations.js";

const PATIENCE_MS = 8000;
const BACK_OFF_MS = [1000, 2000, 5000, 10000, 30000];
const POLL_MS = 20000;
const DAY_MS = 60000;
// So many answers with an error of the server's own, and each operation goes alone; so many alone, and it is the server.
const TIRED = 3;
const BROKEN = 5;
const LOCK = "charting-sync";
const SIGN_IN = "You are signed out. Sign in again in another tab; what waits here is then sent.";
const AWAY = "The clinic's server cannot be reached. What you do is kept on this tablet.";
const ADDRESS = { sync: "/charting/sync/", day: "/charting/day/" };

export class SignedOut extends Error {}
export class Away extends Error {}
export class BadRequest extends Error {}

// A request with patience; gives the JSON answer, or throws one of the three above. Never a redirect, never HTML.
export async function ask(url, { method = "GET", body, type = "application/json", patience = PATIENCE_MS, leaving } = {}) {
  const signal = AbortSignal.any([AbortSignal.timeout(patience), ...(leaving ? [leaving] : [])]);
  try {
    const headers = { Accept: "application/json", "X-CSRFToken": token() ?? "" };
    if (body && type) {
      headers["Content-Type"] = type;
    }
    const response = await fetch(url, { method, body, headers, redirect: "manual", cache: "no-store", signal });
    return await read(response);
  } catch (error) {
    if (error instanceof SignedOut || error instanceof BadRequest || error instanceof Away) {
      throw error;
    }
    throw new Away(AWAY);
  }
}

async function read(response) {
  const { status } = response;
  if (response.type === "opaqueredirect" || status === 401 || status === 403) {
    throw Object.assign(new SignedOut(SIGN_IN), { isToken: status === 403 });
  }
  if (status >= 400 && status < 500 && ![404, 408, 425, 429].includes(status)) {
    const answer = await response.json().catch(() => ({}));
    const message = answer.message ?? `The server refused this (${status}).`;
    throw Object.assign(new BadRequest(message), { status, code: answer.code });
  }
  if (!response.ok) {
    const message = `The clinic's server answered with an error (${status}). What you do is kept on this tablet.`;
    throw Object.assign(new Away(message), { status });
  }
  return response.status === 204 ? {} : await response.json();
}

export class Sync {
  // `app` gives queue, device and user, and takes what the server says: received(), receivedDay(), contactIs().
  constructor(app) {
    Object.assign(this, { app, sending: new Set(), held: new Set(), failures: 0, timer: null, running: null });
    Object.assign(this, { again: false, dayAt: 0, leaving: new AbortController() });
    // Answers in a row on which the server broke, the operations it broke on, and what it said of the last.
    Object.assign(this, { broken: 0, struck: new Set(), trouble: null });
  }

  start() {
    const { signal } = this.leaving;
    window.addEventListener("online", () => this.flush(), { signal });
    window.addEventListener("pageshow", (event) => event.persisted && this.flush(), { signal });
    const seen = () => document.visibilityState === "visible" && this.flush();
    document.addEventListener("visibilitychange", seen, { signal });
    this.flush();
  }

  stop() {
    clearTimeout(this.timer);
    this.leaving.abort();
  }

  // All calls during a sending become one more round after it.
  flush() {
    if (this.leaving.signal.aborted) {
      return Promise.resolve();
    }
    this.again = true;
    this.running ??= this.run();
    return this.running;
  }

  // Once more for what was asked for since the last look, or since the sending began that failed: it would wait otherwise.
  // Not at once after a missing sign-in, which asking again does not bring.
  async run() {
    do {
      try {
        await this.locked(() => this.rounds());
      } catch (error) {
        this.failed(error);
        this.again &&= !(error instanceof SignedOut);
      }
    } while (this.again && !this.leaving.signal.aborted);
    this.running = null;
    this.later();
  }

  locked(task) {
    // Missing on plain http: two tabs may then send the same, which the server stores once.
    return navigator.locks ? navigator.locks.request(LOCK, task) : task();
  }

  later() {
    clearTimeout(this.timer);
    if (this.leaving.signal.aborted) {
      return;
    }
    const isWaiting = this.failures || this.held.size;
    const step = Math.min(Math.max(this.failures, 1), BACK_OFF_MS.length) - 1;
    const wait = isWaiting ? BACK_OFF_MS[this.failures ? step : 2] : POLL_MS;
    this.timer = setTimeout(() => {
      if (isWaiting || document.visibilityState === "visible") {
        this.flush();
      } else {
        this.later();
      }
    }, wait);
  }

  failed(error) {
    const isOut = error instanceof SignedOut;
    this.failures += 1;
    if (!(isOut || error instanceof Away)) {
      console.error(error);
    }
    this.app.contactIs(isOut ? "signed-out" : "away", error.message || AWAY);
  }

  async rounds() {
    this.held.clear();
    this.struck.clear();
    while (this.again) {
      Object.assign(this, { again: false, trouble: null });
      await this.app.reread();
      await this.dayIfDue();
      await this.app.queue.writeAgain();
      let batch = this.batch();
      let isMore;
      do {
        await (this.broken >= TIRED && batch.length ? this.eachAlone(batch) : this.exchange(batch));
        const isPicture = await this.app.sendPictures();
        batch = this.batch();
        isMore = batch.length || isPicture;
      } while (isMore);
      if (this.trouble) {
        throw this.trouble;
      }
      Object.assign(this, { failures: 0, broken: 0 });
      this.app.contactIs("ok", "");
    }
  }

  // A day's list that does not come keeps nothing from being sent; it is asked for again with the next round.
  async dayIfDue() {
    const age = Date.now() - this.dayAt;
    const isKnown = Boolean(this.app.user);
    if (isKnown && age >= 0 && age < DAY_MS) {
      return;
    }
    try {
      await this.refreshDay();
    } catch (error) {
      if (!isKnown || error instanceof SignedOut) {
        throw error;
      }
    }
  }

  // Where the server breaks again and again: only what it breaks on waits.
  async eachAlone(batch) {
    for (const record of batch.filter((each) => this.batch().includes(each))) {
      try {
        await this.exchange([record]);
      } catch (error) {
        if (!(error.status >= 500)) {
          throw error;
        }
        this.trouble = error;
        this.struck.add(record.id);
        if (this.struck.size >= BROKEN) {
          throw error;
        }
      }
    }
  }

  batch() {
    const { queue, kept } = this.app;
    return sendable(queue.ordered, (record) => {
      const { id, op, written, failed } = record;
      const isUnnumbered = !written && !failed;
      return isUnnumbered || this.held.has(id) || this.struck.has(id) || (op.kind === "sign" && kept.isOpenIn(op.session));
    });
  }

  // How a record stands, in a word for the list of what waits.
  stateOf(record) {
    if (needsPerson(record)) {
      return record.state;
    }
    const where = keptWhere(record);
    if (where !== "tablet") {
      return where;
    }
    return this.sending.has(record.id) ? "sending" : record.state;
  }

  async refreshDay() {
    await this.app.receivedDay(await this.withToken(() => ask(ADDRESS.day, { leaving: this.leaving.signal })));
    this.dayAt = Date.now();
  }

  // A refused form token is read anew from the cookie, once; the day's answer sets the cookie.
  async withToken(task) {
    try {
      return await task();
    } catch (error) {
      if (!error.isToken) {
        throw error;
      }
      await ask(ADDRESS.day, { leaving: this.leaving.signal });
      return task();
    }
  }

  async exchange(batch) {
    batch.forEach(({ id }) => this.sending.add(id));
    this.app.waitingChanged();
    // A person may decide about one of them while it is under way.
    const sent = batch.map(({ id, op }) => ({ id, op }));
    try {
      const answer = await this.withToken(() => this.post(sent));
      const stored = await this.app.received(answer, sent);
      this.remember(batch);
      if (stored) {
        // What was held back for one of these may go now.
        this.held.clear();
      }
      if (answer.stock && this.app.day && answer.stock !== this.app.day.stock.seal) {
        await this.refreshDay();
      }
    } catch (error) {
      this.broken = error.status >= 500 ? this.broken + 1 : this.broken;
      if (!(error instanceof BadRequest) || !batch.length) {
        throw error instanceof BadRequest ? new Away(error.message) : error;
      }
      await this.oneByOne(batch, error);
    } finally {
      batch.forEach(({ id }) => this.sending.delete(id));
      this.app.waitingChanged();
    }
  }

  // A batch the server could not read at all: each alone, so that one bad operation does not keep the others.
  async oneByOne(batch, { message }) {
    if (batch.length > 1) {
      for (const record of batch) {
        if (this.batch().includes(record)) {
          await this.exchange([record]);
        }
      }
      return;
    }
    const [{ id }] = batch;
    await this.app.received({ results: [{ id, outcome: "refused", message, conflict: null }], sessions: {} }, batch);
  }

  // What the server holds back goes again with the next sending, not at once.
  remember(batch) {
    const waiting = this.app.queue.records;
    for (const { id } of batch) {
      const record = waiting.get(id);
      if (record && !needsPerson(record)) {
        this.held.add(id);
      }
    }
  }

  post(batch) {
    const { device } = this.app;
    const operations = batch.map(({ op }) => op);
    const named = new Set([...operations.map(({ session }) => session), ...this.app.inSight()]);
    const sessions = [...named].slice(0, BATCH);
    const body = JSON.stringify({ device, sent_at: new Date().toISOString(), operations, sessions });
    return ask(ADDRESS.sync, { method: "POST", body, leaving: this.leaving.signal });
  }
}

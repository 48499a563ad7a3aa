// Talking to the server: one request at a time, in the order of the acts, so that no older answer overwrites a newer.

import { token } from "../token.js";

const PATIENCE_MS = 8000;
let tail = Promise.resolve();

export function inOrder(task) {
  tail = tail.then(task, task);
  return tail;
}

function csrfToken() {
  return token() ?? JSON.parse(document.body.getAttribute("hx-headers") ?? "{}")["X-CSRFToken"];
}

// Gives {outcome, html | message}; outcome is "stored", "refused", "signed-out" or "unreachable". It never throws.
export async function post(url, fields) {
  const patience = new AbortController();
  const timer = setTimeout(() => patience.abort(), PATIENCE_MS);
  try {
    const response = await fetch(url, {
      method: "POST",
      body: new URLSearchParams(fields),
      headers: { "X-CSRFToken": csrfToken(), "X-Requested-With": "fetch" },
      redirect: "manual",
      signal: patience.signal,
    });
    return await read(response);
  } catch {
    return { outcome: "unreachable", message: "The server cannot be reached." };
  } finally {
    clearTimeout(timer);
  }
}

async function read(response) {
  if (response.headers.get("HX-Refresh") === "true") {
    location.reload();
    return { outcome: "stored", html: "" };
  }
  if (response.ok) {
    return { outcome: "stored", html: await response.text() };
  }
  if (response.type === "opaqueredirect" || response.status === 401 || response.status === 403) {
    return { outcome: "signed-out", message: "You are signed out. Sign in again in another tab; it is then sent from here." };
  }
  if (response.status === 409 || response.status === 422) {
    return { outcome: "refused", message: (await response.json()).message };
  }
  if (response.status === 404) {
    return { outcome: "refused", message: "The server does not know this any more. Load the page again." };
  }
  return { outcome: "unreachable", message: `The server answered with an error (${response.status}).` };
}

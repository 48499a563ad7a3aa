// Short questions of the tablet to the clinic. They never throw: {ok, signedOut, data, message}.

import { SignedOut, ask } from "../charting/sync.js";
import { token } from "../token.js";

const PATIENCE_MS = 8000;

async function answered(question) {
  try {
    return { ok: true, signedOut: false, data: await question, message: "" };
  } catch (error) {
    return { ok: false, signedOut: error instanceof SignedOut, data: null, message: error.message };
  }
}

export function post(address, data) {
  return answered(ask(address, { method: "POST", body: JSON.stringify(data) }));
}

export function get(address) {
  return answered(ask(address));
}

// Ends the session at the clinic; whether it is ended now. The answer is a redirect, which nobody follows.
export async function signOut() {
  try {
    const headers = { "X-CSRFToken": token() ?? "" };
    const signal = AbortSignal.timeout(PATIENCE_MS);
    const answer = await fetch("/staff/sign-out/", { method: "POST", headers, redirect: "manual", signal });
    return answer.ok || answer.type === "opaqueredirect";
  } catch {
    return false;
  }
}

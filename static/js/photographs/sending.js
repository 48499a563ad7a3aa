// One photograph to the clinic, by its own id: sent again it is stored once.

import { token } from "../token.js";

const NO_ANSWER = "Not stored: the clinic does not answer. Send it again when the network is back.";
const LATER = "Not stored: the clinic’s server could not take it now. Send it again in a moment.";

// The page's address names the id 0.
export function newKeptUrl(pattern) {
  return pattern.replace(/0{8}-0{4}-0{4}-0{4}-0{12}/, crypto.randomUUID?.() ?? randomId());
}

// Without https there is no randomUUID.
function randomId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/(.{8})(.{4})(.{4})(.{4})(.{12})/, "$1-$2-$3-$4-$5");
}

// {stored, message, again}: `again` where the same may be sent once more. `agreed` is the form with what the patient
// agrees to, `fields` the rest of what is sent.
export async function sendPhotograph(url, agreed, fields) {
  const body = new FormData(agreed);
  for (const [name, value] of Object.entries(fields)) {
    body.set(name, value);
  }
  let answer;
  try {
    answer = await fetch(url, { method: "POST", body, headers: { "X-CSRFToken": token() } });
  } catch {
    return { stored: null, message: NO_ANSWER, again: true };
  }
  const told = await answer.json().catch(() => ({}));
  if (answer.ok && told.key) {
    return { stored: told, message: "", again: false };
  }
  const isOurs = answer.status >= 500 || !told.message;
  return { stored: null, message: told.message ?? LATER, again: isOurs };
}

// Whether the patient agrees; asks for the tick where it is missing.
export function isAgreed(agreed) {
  const box = agreed.elements.namedItem("record");
  if (!box.checked) {
    box.focus();
  }
  return box.checked;
}

export const NOT_AGREED = "Ask the patient first, and tick that they agree to photographs for the record.";

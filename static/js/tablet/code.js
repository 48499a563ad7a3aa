// The quick code of whoever works on this tablet: 4 to 8 digits that open the locked screen and sign a session without
// network. Neither the digits nor the key K derived from them are kept: K = PBKDF2-HMAC-SHA256(code, salt, 310000, 32
// bytes); a check value, HMAC-SHA256(K, "unlock"), tells a right code from a wrong one. The clinic has K and checks signatures.
// Web Crypto exists in secure contexts (https) only; without it there is no code, and the password does the work.

import { TabletStore } from "../charting/store.js";
import { newKey } from "../charting/ids.js";
import { post } from "./server.js";

export const TRIES = 5;
const ITERATIONS = 310000;
const SALT_BYTES = 16;
const YEARS = /(?:19|20)\d\d/;
const tablet = new TabletStore();
const bytesOf = (text) => new TextEncoder().encode(text);
const hexOf = (buffer) => Array.from(new Uint8Array(buffer), (byte) => byte.toString(16).padStart(2, "0")).join("");
const fromHex = (hex) => Uint8Array.from(hex.match(/../g) ?? [], (pair) => parseInt(pair, 16));

export function canUseCodes() {
  return Boolean(globalThis.crypto?.subtle);
}

function isRun(digits) {
  const steps = digits.slice(1).map((digit, index) => (digit - digits[index] + 10) % 10);
  return steps.every((step) => step === steps[0]) && [0, 1, 9].includes(steps[0]);
}

function repeats(code) {
  return [2, 3, 4].some((length) => code.length % length === 0 && code.length > length && code === code.slice(0, length).repeat(code.length / length));
}

// Why a code is refused, as a sentence; "" for a good one.
export function weakness(code) {
  if (!/^\d{4,8}$/.test(code)) {
    return "Choose 4 to 8 digits.";
  }
  if (isRun([...code].map(Number)) || repeats(code)) {
    return "Too easy to guess: no row of digits such as 1234, and nothing that repeats such as 0000 or 1212.";
  }
  // A year, or a day written with one: birthdays are tried first.
  if (YEARS.test(code)) {
    return "Too easy to guess: it looks like a year or a birthday.";
  }
  return "";
}

async function keyOf(code, salt) {
  const secret = await crypto.subtle.importKey("raw", bytesOf(code), "PBKDF2", false, ["deriveBits"]);
  const how = { name: "PBKDF2", hash: "SHA-256", salt: fromHex(salt), iterations: ITERATIONS };
  return new Uint8Array(await crypto.subtle.deriveBits(how, secret, 256));
}

async function hmac(key, text) {
  const imported = await crypto.subtle.importKey("raw", key, { name: "HMAC", hash: "SHA-256" }, false, ["sign"]);
  return hexOf(await crypto.subtle.sign("HMAC", imported, bytesOf(text)));
}

async function slot() {
  const user = await tablet.read("user");
  return user ? `code-${user.id}` : null;
}

// Reads, changes and writes in one transaction, so that two tabs cannot share a try. Gives what `change` made.
function changed(name, change) {
  return tablet.transact("readwrite", ["kv"], (kv) => {
    let value;
    kv.get(name).onsuccess = ({ target }) => {
      value = change(target.result);
      if (value) {
        kv.put(value, name);
      }
    };
    return () => value;
  });
}

export async function hasCode() {
  const name = canUseCodes() && (await slot());
  return Boolean(name && (await tablet.read(name)));
}

// How many tries are left; 0: only the password opens.
export async function triesLeft() {
  const name = await slot();
  const kept = name ? await tablet.read(name) : null;
  return kept ? Math.max(0, TRIES - kept.wrong) : 0;
}

// After the password was given: the code may be tried again.
export async function forgive() {
  const name = await slot();
  if (name) {
    await changed(name, (kept) => kept && { ...kept, wrong: 0 });
  }
}

// Sets the code; needs contact and the account's password. Gives "" or the sentence that says why not.
export async function enrol(code, password) {
  const weak = weakness(code);
  if (weak) {
    return weak;
  }
  const salt = hexOf(crypto.getRandomValues(new Uint8Array(SALT_BYTES)));
  const key = await keyOf(code, salt);
  const device = await tablet.readOrMake("device", newKey);
  const sent = { device, salt, key: hexOf(key), iterations: ITERATIONS, password };
  const answer = await post("/tablets/code/", sent);
  if (!answer.ok) {
    return answer.message;
  }
  await tablet.write(await slot(), { salt, check: await hmac(key, "unlock"), wrong: 0 });
  return "";
}

// K for the right code, else null. The try is counted before it is judged: a reload in between does not give it back.
async function rightKey(code) {
  const name = canUseCodes() ? await slot() : null;
  const kept = name ? await changed(name, (row) => row && { ...row, wrong: row.wrong + 1 }) : null;
  if (!kept || kept.wrong > TRIES) {
    return null;
  }
  const key = await keyOf(code, kept.salt);
  if ((await hmac(key, "unlock")) !== kept.check) {
    return null;
  }
  await forgive();
  return key;
}

// Gives {ok, left}: whether it is the code, and how many tries are left.
export async function verify(code) {
  const ok = Boolean(await rightKey(code));
  return { ok, left: ok ? TRIES : await triesLeft() };
}

// The proof of a signature as hex, or null for a wrong code (a try is gone then; see triesLeft).
export async function signatureProof(code, opId, sessionKey) {
  const key = await rightKey(code);
  return key ? hmac(key, `sign|${opId}|${sessionKey}`) : null;
}

// What an occlusion log says: which one runs, its clocks, and when it is loud. Pure; the rules are those of
// planning/occlusion.py, and a test compares both.

import { formatAmount } from "./amounts.js";

const MINUTE_MS = 60000;
const OVER = new Set(["ended", "discarded"]);
const LOOKED = new Set(["dose", "refill", "timer"]);

const last = (entries, isIt) => entries.findLast(isIt) ?? null;

export function isRunning({ entries }) {
  return !entries.some(({ what }) => OVER.has(what));
}

// The log of a session that runs, or null.
export function runningLog(state) {
  return (state?.occlusions ?? []).findLast(isRunning) ?? null;
}

export function firstSignAt({ at, entries }) {
  return last(entries, ({ moment }) => moment)?.moment ?? at;
}

// Milliseconds since the first sign and since the last dose (null without one), and until it is looked at again: below
// zero once that is due. `minutes`: the clinic's own time to the next look.
export function clocksOf(log, now, minutes) {
  const since = (moment) => Math.max(0, now - Date.parse(moment));
  const dose = last(log.entries, ({ what }) => what === "dose");
  const wait = last(log.entries, ({ what }) => what === "timer")?.minutes ?? minutes;
  const looked = last(log.entries, ({ what }) => LOOKED.has(what))?.at ?? log.at;
  return {
    first: since(firstSignAt(log)),
    dose: dose && since(dose.at),
    due: Date.parse(looked) + wait * MINUTE_MS - now,
    wait,
  };
}

// "4:07", "1:02:30"
export function clockText(ms) {
  const seconds = Math.floor(Math.abs(ms) / 1000);
  const pad = (number) => String(number).padStart(2, "0");
  const hours = Math.floor(seconds / 3600);
  const minutes = Math.floor(seconds / 60) % 60;
  return hours ? `${hours}:${pad(minutes)}:${pad(seconds % 60)}` : `${minutes}:${pad(seconds % 60)}`;
}

export function isSlow(refill, other, concern) {
  return refill >= concern || (other !== null && other !== undefined && refill > other);
}

export function tellsOfEmergency(text, words) {
  const plain = text.toLowerCase().replace(/[^\p{L}\p{N} ']/gu, " ").split(/\s+/).filter(Boolean).join(" ");
  return words.some((word) => ` ${plain}`.includes(` ${word}`));
}

export function secondsText(tenths) {
  return tenths === 10 ? "1 second" : `${tenths / 10} seconds`;
}

function signWords({ signs, text }, { signs: skin, emergency_signs: emergency }) {
  const named = (signs ?? "").split(",").filter(Boolean);
  const labels = new Map([...skin, ...emergency]);
  return [named.map((sign) => labels.get(sign) ?? sign).join(", "), text].filter(Boolean).join(". ");
}

// The unit that was given from: as the clinic told it, else as the day's stock has it; "" where none is named.
export function unitWords({ unit, unit_text: told }, units) {
  const from = units.get(unit);
  return told || (from ? `${from.product_name}, unit ${from.label}, lot ${from.lot}` : "");
}

function doseWords(line, _reference, units) {
  const { dose_centiunits: dose, diluent_ul: diluent, lot, text } = line;
  const from = unitWords(line, units);
  const stock = from ? `, ${from}` : lot ? `, lot ${lot}` : ", lot not noted";
  return `${formatAmount(dose, "dose")}${diluent ? ` in ${formatAmount(diluent, "volume")}` : ""}${stock}${text ? `. ${text}` : ""}`;
}

function refillWords({ refill_tenths: refill, other_tenths: other }, { refill_concern_tenths: concern }) {
  const told = `${secondsText(refill)}${other ? `, the other side ${secondsText(other)}` : ""}`;
  return isSlow(refill, other, concern) ? `${told}: slow` : told;
}

const WORDS = {
  signs: signWords,
  emergency: signWords,
  refill: refillWords,
  pain: ({ pain }) => `${pain} of 10`,
  dose: doseWords,
  call: ({ whom, text }) => (text ? `${whom}: ${text}` : whom),
  timer: ({ minutes }) => `${minutes} minutes`,
  ended: ({ grade, text }, { grades }) => [grades.find(([key]) => key === grade)?.[1], text].filter(Boolean).join(". "),
};

// One line without its kind: "500 units in 1 mL, lot L1". `units`: those of the day's stock by number.
export function lineWords(line, reference, units) {
  return (WORDS[line.what] ?? (({ text }) => text ?? ""))(line, reference, units);
}

export function isLoud({ what, refill_tenths: refill, other_tenths: other }, { refill_concern_tenths: concern }) {
  return what === "emergency" || (what === "refill" && isSlow(refill, other, concern));
}

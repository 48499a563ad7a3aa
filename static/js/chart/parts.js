// Puts the parts of an answer where they belong; the server draws them, the page only changes places.

// Elements that a swap replaces and that may hold the focus, by the attribute that finds them again.
const FINDABLE = ["data-choose", "data-mirror", "data-unit", "data-open-unit"];

function focusFinder() {
  const held = document.activeElement;
  const name = held && FINDABLE.find((attribute) => held.hasAttribute(attribute));
  if (!name) {
    return () => {};
  }
  const value = name === "data-unit" ? `[value="${held.value}"]` : `[${name}="${held.getAttribute(name)}"]`;
  return () => document.querySelector(`[${name}]${value}`)?.focus({ preventScroll: true });
}

export function placeMarks(source) {
  for (const holder of source.querySelectorAll("svg[data-marks-of]")) {
    const view = holder.dataset.marksOf;
    const old = document.querySelector(`[data-figure="${view}"] g[data-marks="today"]`);
    old?.replaceWith(document.importNode(holder.querySelector("g"), true));
    const count = document.querySelector(`[data-part="count-${view}"]`);
    if (count) {
      count.textContent = holder.dataset.count === "0" ? "" : holder.dataset.count;
    }
  }
}

// Gives the sentence to announce. Tells the other modules by the event "chart:parts".
export function applyParts(html) {
  const answer = new DOMParser().parseFromString(html, "text/html");
  const refocus = focusFinder();
  for (const part of answer.querySelectorAll("[data-part]")) {
    document.querySelector(`[data-part="${part.dataset.part}"]`)?.replaceWith(document.importNode(part, true));
  }
  placeMarks(answer.querySelector("template[data-marks-source]").content);
  refocus();
  document.dispatchEvent(new CustomEvent("chart:parts"));
  return answer.querySelector("[data-announce]").textContent;
}

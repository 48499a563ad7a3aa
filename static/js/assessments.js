// An assessment being made: a touch on the drawing opens its region, a grade shows on the drawing at once.
//
// Without this module a touch leads to the region by its address, and the drawing shows what was saved last.

const MARKS = { volume: "", movement: "M" };
const form = document.querySelector("[data-assess]");

// { volume: { left: "3" }, movement: {} } as chosen now.
function chosenIn(row) {
  const chosen = {};
  for (const scale of row.querySelectorAll("[data-scale]")) {
    chosen[scale.dataset.scale] = {};
    for (const side of scale.querySelectorAll("[data-side]")) {
      const { value } = side.querySelector("input:checked") ?? { value: "" };
      if (value) {
        chosen[scale.dataset.scale][side.dataset.side] = value;
      }
    }
  }
  return chosen;
}

// What one side of the drawing shows: the whole stands for a side that has no grade of its own.
function shade(chosen, side) {
  const grades = Object.entries(chosen)
    .map(([scale, sides]) => [scale, sides[side] ?? sides.midline])
    .filter(([, grade]) => grade);
  return {
    name: grades.length ? `area--${Math.max(...grades.map(([, grade]) => Number(grade)))}` : "",
    text: grades.map(([scale, grade]) => `${MARKS[scale]}${grade}`).join(" "),
  };
}

function draw(region, chosen) {
  const isWhole = Object.values(chosen).every((sides) => !sides.left && !sides.right);
  for (const area of form.querySelectorAll(`[data-region="${region}"]`)) {
    const texts = [...area.querySelectorAll("text")];
    for (const path of area.querySelectorAll("path")) {
      path.setAttribute("class", `area ${shade(chosen, path.dataset.side).name}`.trim());
    }
    for (const text of texts) {
      const isOnce = isWhole && texts.length === 2;
      text.setAttribute("x", isOnce ? "0" : text.dataset.x);
      text.textContent = isOnce && text.dataset.side === "right" ? "" : shade(chosen, text.dataset.side).text;
    }
  }
}

function say(row, chosen) {
  const scales = Object.keys(chosen);
  row.querySelector("[data-now]").textContent = scales
    .map((scale) => {
      const name = row.querySelector(`[data-scale="${scale}"] legend`).textContent.toLowerCase();
      const sides = ["right", "midline", "left"].filter((side) => chosen[scale][side]);
      const said = sides.map((side) => `${side === "midline" ? "whole" : side} ${chosen[scale][side]}`).join(", ");
      return said && (scales.length > 1 ? `${name}: ${said}` : said);
    })
    .filter(Boolean)
    .join("; ");
}

form.addEventListener("change", ({ target }) => {
  const row = target.closest("[data-region-row]");
  if (row && target.type === "radio") {
    const chosen = chosenIn(row);
    draw(row.dataset.regionRow, chosen);
    say(row, chosen);
  }
});

form.addEventListener("click", (event) => {
  const area = event.target.closest("a[data-region]");
  if (area) {
    event.preventDefault();
    const row = form.querySelector(`[data-region-row="${area.dataset.region}"]`);
    row.open = true;
    row.scrollIntoView({ block: "nearest" });
    row.querySelector("input:checked")?.focus({ preventScroll: true });
  }
});

// Which region is open is marked on the drawing. The event does not bubble.
form.addEventListener(
  "toggle",
  ({ target }) => {
    for (const area of form.querySelectorAll(`[data-region="${target.dataset.regionRow}"]`)) {
      area.classList.toggle("areas__region--open", target.open);
    }
  },
  true,
);

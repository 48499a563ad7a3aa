// Marks on a picture: a touch sets the one that is chosen and goes on to the next that is missing; a mark that is there is
// moved, by a finger or by the arrow keys. The numbers beside it are what is sent.

import { ScaleStage } from "../charting/scale_stage.js";

const form = document.querySelector("[data-marking]");
const picture = JSON.parse(document.getElementById("marked-picture").textContent);
const rows = [...form.querySelectorAll("[data-mark]")];
const fieldsOf = (row) => [...row.querySelectorAll("input")];

function placeIn(row) {
  const [x, y] = fieldsOf(row).map(({ value }) => (value === "" ? null : Number(value)));
  return x === null || y === null ? null : { x, y };
}

function show() {
  rows.forEach((row, index) => {
    const place = stage.places[index];
    const choose = row.querySelector("[data-choose]");
    choose.setAttribute("aria-pressed", String(index === stage.chosen));
    row.classList.toggle("is-set", place !== null);
    if (place && !row.contains(document.activeElement?.closest("input"))) {
      [place.x, place.y].forEach((value, axis) => (fieldsOf(row)[axis].value = value));
    }
  });
}

const stage = new ScaleStage({
  picture,
  href: picture.href,
  places: rows.map(placeIn),
  names: rows.map(({ dataset }) => dataset.mark),
  onChange: show,
});
form.querySelector("[data-marked]").append(stage.root);

const firstMissing = () => stage.places.indexOf(null);

let wasMissing = false;
stage.svg.addEventListener("pointerdown", () => (wasMissing = firstMissing() >= 0), { capture: true });
stage.svg.addEventListener("pointerup", () => {
  const next = firstMissing();
  if (wasMissing && next >= 0 && stage.places[stage.chosen]) {
    stage.choose(next);
  }
});
form.addEventListener("click", ({ target }) => {
  const row = target.closest("[data-choose]")?.closest("[data-mark]");
  if (row) {
    stage.choose(rows.indexOf(row));
  }
});
form.addEventListener("input", ({ target }) => {
  const row = target.closest("[data-mark]");
  stage.places[rows.indexOf(row)] = placeIn(row);
  stage.draw();
  show();
});

if (firstMissing() >= 0) {
  stage.choose(firstMissing());
}
show();

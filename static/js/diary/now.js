// The line of the present time, by the server's clock; who should be here by then and is not; and where a day opens: at
// now, or at its first visit.

import { board, bodyOf, bounds, columns, diary, put, startOf } from "./board.js";
import { ROW_MINUTES, rowOf } from "./times.js";

const EVERY_MS = 20_000;
const ABOVE_PX = 120;
let clock = null;

// Seconds since midnight now: what the server said, and how long ago.
function readClock() {
  const { now, today } = diary().dataset;
  const [hours, minutes, seconds] = now.split(":").map(Number);
  clock = { today, seconds: hours * 3600 + minutes * 60 + seconds, at: performance.now() };
}

const rowNow = () => (clock.seconds + (performance.now() - clock.at) / 1000) / 60 / ROW_MINUTES;

// Whether a row of a column's day has passed; the quarter of an hour that has begun is still for walk-ins.
export function isOver(column, row) {
  const { day } = column.dataset;
  return day < clock.today || (day === clock.today && row < rowNow() - 3);
}

function draw() {
  const row = rowNow();
  for (const column of columns()) {
    let line = column.querySelector(".now");
    const { first, end } = bounds();
    if (column.dataset.day !== clock.today || row < first || row > end) {
      line?.remove();
      continue;
    }
    if (!line) {
      line = document.createElement("div");
      line.className = "now";
      bodyOf(column).append(line);
    }
    put(line, row, 0);
    for (const visit of column.querySelectorAll(".visit.is-booked")) {
      visit.classList.toggle("is-awaited", startOf(visit) < row);
    }
  }
}

document.addEventListener("diary:shown", () => {
  readClock();
  draw();
});

readClock();
draw();
setInterval(draw, EVERY_MS);
const opened = board()?.querySelector(".now") ?? firstVisit();
if (board() && opened) {
  const above = opened.getBoundingClientRect().top - board().getBoundingClientRect().top;
  board().scrollTop += above - ABOVE_PX;
}

function firstVisit() {
  const all = [...(board()?.querySelectorAll(".visit") ?? [])];
  return all.sort((one, other) => rowOf(one.dataset.start) - rowOf(other.dataset.start))[0];
}

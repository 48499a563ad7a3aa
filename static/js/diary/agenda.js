// In a narrow window one column is shown at a time; which one is remembered while the page stays open.

import { columns } from "./board.js";

let chosen = "";

function show() {
  const choose = document.querySelector("[data-board-choose]");
  if (!choose) {
    return;
  }
  choose.hidden = columns().length < 2;
  choose.querySelector("select").value = chosen;
  for (const column of columns()) {
    column.classList.toggle("is-put-away", chosen !== "" && column.dataset.column !== chosen);
  }
}

document.addEventListener("change", (event) => {
  if (event.target.closest("[data-board-choose]")) {
    chosen = event.target.value;
    show();
  }
});
document.addEventListener("diary:shown", show);
show();

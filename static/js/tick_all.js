// A table of ticks: the box [data-tick-all] in the head of a [data-tick-table] ticks every row or none, and shows
// whether all, some or none are ticked.

function boxes(table) {
  return [...table.querySelectorAll("tbody input[type='checkbox']")];
}

function show(table) {
  const all = table.querySelector("[data-tick-all]");
  const ticked = boxes(table).filter((box) => box.checked).length;
  if (all) {
    all.checked = ticked > 0 && ticked === boxes(table).length;
    all.indeterminate = ticked > 0 && !all.checked;
  }
}

document.addEventListener("change", (event) => {
  const table = event.target.closest("[data-tick-table]");
  if (!table) {
    return;
  }
  if (event.target.matches("[data-tick-all]")) {
    for (const box of boxes(table)) {
      box.checked = event.target.checked;
    }
  }
  show(table);
});

document.querySelectorAll("[data-tick-table]").forEach(show);

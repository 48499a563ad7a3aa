// The times that fit are looked up anew while somebody is already choosing: what was chosen meanwhile stays chosen.

const LIST = "times-that-fit";
const chosen = () => document.querySelector("input[name=slot]:checked")?.value;
let kept;

document.addEventListener("htmx:beforeSwap", (event) => {
  if (event.detail.target.id === LIST) {
    kept = chosen();
  }
});

document.addEventListener("htmx:afterSwap", (event) => {
  if (event.detail.target.id !== LIST || kept === undefined || kept === chosen()) {
    return;
  }
  const same = [...document.querySelectorAll("input[name=slot]")].find((radio) => radio.value === kept);
  if (same) {
    same.checked = true;
  }
});

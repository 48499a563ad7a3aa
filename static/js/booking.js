// The times that fit are looked up anew while somebody is already choosing: what was chosen meanwhile stays chosen, and
// whoever was among them with the keyboard stays there.

const LIST = "times-that-fit";
const radios = (within) => [...within.querySelectorAll("input[name=slot]")];
const chosen = () => radios(document).find((radio) => radio.checked)?.value;
let kept;
let focused;

document.addEventListener("htmx:beforeSwap", (event) => {
  if (event.detail.target.id === LIST) {
    kept = chosen();
    focused = radios(event.detail.target).find((radio) => radio === document.activeElement)?.value;
  }
});

document.addEventListener("htmx:afterSwap", (event) => {
  const list = event.detail.target;
  if (list.id !== LIST) {
    return;
  }
  const same = radios(document).find((radio) => radio.value === kept);
  if (same) {
    same.checked = true;
  }
  if (focused !== undefined) {
    const fits = radios(list);
    const next = fits.find((radio) => radio.value === focused) ?? fits.find((radio) => radio.checked) ?? fits[0];
    next?.focus({ preventScroll: true });
  }
});

// Adds rows to a Django formset. Inside [data-rows]: the button [data-rows-add] copies [data-rows-template] to the end
// of [data-rows-list], counts it in TOTAL_FORMS, and puts the focus into its first field.

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-rows-add]");
  const rows = button?.closest("[data-rows]");
  if (!rows) {
    return;
  }
  const total = rows.querySelector("input[name$='-TOTAL_FORMS']");
  const copy = rows.querySelector("[data-rows-template]").content.cloneNode(true);
  for (const element of copy.querySelectorAll("*")) {
    for (const attribute of element.attributes) {
      attribute.value = attribute.value.replaceAll("__prefix__", total.value);
    }
  }
  total.value = Number(total.value) + 1;
  const first = copy.querySelector("select, input:not([type='hidden']), textarea");
  rows.querySelector("[data-rows-list]").append(copy);
  first?.focus();
});

// The button [data-copy="id"] copies what stands in a field, and says so in [data-copy-said]. It is shown by this script
// alone. Without a secure connection browsers have no clipboard for pages: there the field's text is chosen and copied
// as by the keys.

async function copy(button) {
  const field = document.getElementById(button.dataset.copy);
  const said = button.parentElement.querySelector("[data-copy-said]");
  field.select();
  let copied = false;
  try {
    await navigator.clipboard.writeText(field.value);
    copied = true;
  } catch {
    copied = document.execCommand("copy");
  }
  said.textContent = copied ? "Copied." : "It is marked: copy it by the keys or the menu of the device.";
}

for (const button of document.querySelectorAll("button[data-copy]")) {
  button.hidden = false;
  button.addEventListener("click", () => copy(button));
}

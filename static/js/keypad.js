// On-screen keys for an amount: [data-keypad-for="id of the input"] holds buttons with data-key:
// a digit, "." (the decimal mark), "back" (last character), "clear", or "=0.1" (this very value).
// It only types: the server reads and checks the amount. The input hears an "input" event as if typed.

function typed(value, key) {
  if (key === "clear") {
    return "";
  }
  if (key === "back") {
    return value.slice(0, -1);
  }
  if (key.startsWith("=")) {
    return key.slice(1);
  }
  if (key === ".") {
    if (value.includes(".") || value.includes(",")) {
      return value;
    }
    return value === "" ? "0." : `${value}.`;
  }
  return value === "0" ? key : value + key;
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-keypad-for] [data-key]");
  if (!button) {
    return;
  }
  const input = document.getElementById(button.closest("[data-keypad-for]").dataset.keypadFor);
  if (input) {
    input.value = typed(input.value, button.dataset.key);
    input.dispatchEvent(new Event("input", { bubbles: true }));
  }
});

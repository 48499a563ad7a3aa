// The key "/" goes to the field marked data-search-key, unless the person is typing somewhere.

document.addEventListener("keydown", (event) => {
  if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey) {
    return;
  }
  if (event.target.closest("input, textarea, select, dialog[open], [contenteditable]")) {
    return;
  }
  const field = document.querySelector("[data-search-key]");
  if (field) {
    event.preventDefault();
    field.focus();
    field.select();
  }
});

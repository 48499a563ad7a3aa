// Menus made of <details data-menu>: one open at a time, closed by Escape (focus returns), by a press elsewhere and when
// the focus goes on past them.

const openMenus = () => document.querySelectorAll("details[data-menu][open]");

document.addEventListener("click", (event) => {
  for (const menu of openMenus()) {
    if (!menu.contains(event.target)) {
      menu.open = false;
    }
  }
});

document.addEventListener("focusin", (event) => {
  for (const menu of openMenus()) {
    // A press on plain text in a menu gives the focus to what holds the menu; a dialog gives it back to the menu.
    if (!menu.contains(event.target) && !event.target.contains(menu) && !event.target.closest("dialog")) {
      menu.open = false;
    }
  }
});

document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape" || event.target.closest("dialog")) {
    return;
  }
  for (const menu of openMenus()) {
    menu.open = false;
    menu.querySelector("summary").focus();
  }
});

// Theme switch: [data-theme-switch] holds buttons with data-theme-choice="light|system|dark".
// The choice is kept in localStorage under "theme"; theme_first_paint.js reads it on the next page.

function remember(choice) {
  try {
    if (choice === "system") {
      localStorage.removeItem("theme");
    } else {
      localStorage.setItem("theme", choice);
    }
  } catch {
    // no storage: the choice lasts for this page
  }
}

function show(choice) {
  if (choice === "system") {
    delete document.documentElement.dataset.theme;
  } else {
    document.documentElement.dataset.theme = choice;
  }
  for (const button of document.querySelectorAll("[data-theme-choice]")) {
    button.setAttribute("aria-pressed", String(button.dataset.themeChoice === choice));
  }
}

show(document.documentElement.dataset.theme ?? "system");

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-theme-choice]");
  if (button) {
    remember(button.dataset.themeChoice);
    show(button.dataset.themeChoice);
  }
});

// Runs before the first paint (a plain script in <head>), so that a chosen theme does not flash.
// Storage can be refused by the browser's settings; the system's theme then stands.
try {
  const choice = localStorage.getItem("theme");
  if (choice === "light" || choice === "dark") {
    document.documentElement.dataset.theme = choice;
  }
} catch {
  // no storage: nothing to restore
}

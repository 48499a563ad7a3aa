// The keys of a page. An element with data-key="b" is pressed by that key, or given the focus if it is a field; what
// stands in the page itself goes before what stands around it. "?" opens the help (ui/keys.html), which lists the keys
// that are there; data-key-says gives the words, else those of the element are taken. A page that listens to further keys
// by itself lists them in a template[data-keys-more].
//
// A key alone can be struck by mistake or by speech, so all of them can be switched off, in this browser (WCAG 2.2,
// success criterion 2.1.4). Keys with Ctrl, Alt or Meta belong to the browser and to screen readers.

const STORED = "clinic-keys";
const TYPING = "input, textarea, select, dialog[open], [contenteditable], [role='application']";
const NAMES = { ",": "comma", ".": "full stop", "/": "slash", "?": "question mark" };
const help = document.querySelector("dialog[data-keys]");

function remembered() {
  try {
    return localStorage.getItem(STORED) !== "off";
  } catch {
    return true; // no storage: the choice lasts for this page
  }
}

function remember(on) {
  try {
    localStorage.setItem(STORED, on ? "on" : "off");
  } catch {
    // as above
  }
}

let areOn = remembered();
const inPage = (element) => element.closest("main") !== null;

function keyed() {
  const all = [...document.querySelectorAll("[data-key]")].filter((element) => element.checkVisibility());
  return all.sort((a, b) => inPage(b) - inPage(a));
}

function press(element) {
  if (element.matches("input, textarea, select")) {
    element.focus();
    element.select?.();
  } else {
    element.click();
  }
}

function row(key, says) {
  const line = help.querySelector("template").content.firstElementChild.cloneNode(true);
  line.querySelector("kbd").textContent = key;
  line.querySelector("[data-keys-name]").textContent = NAMES[key] ?? "";
  line.querySelector("[data-keys-says]").textContent = says;
  return line;
}

function fill() {
  const known = new Set();
  const rows = { page: [], everywhere: [] };
  for (const element of keyed()) {
    const key = element.dataset.key;
    if (!known.has(key)) {
      known.add(key);
      const says = element.dataset.keySays ?? element.getAttribute("aria-label") ?? element.textContent.trim();
      rows[inPage(element) ? "page" : "everywhere"].push(row(key, says));
    }
  }
  const more = document.querySelector("template[data-keys-more]")?.content.cloneNode(true);
  rows.page.push(...(more?.children ?? []));
  for (const group of help.querySelectorAll("[data-keys-group]")) {
    group.querySelectorAll("[data-keys-row]").forEach((line) => line.remove());
    group.querySelector("dl").prepend(...rows[group.dataset.keysGroup]);
    group.hidden = group.querySelector("dl").childElementCount === 0;
  }
}

/** Tell assistive technology, and the hints beside the buttons, whether the keys work. */
function announce() {
  document.documentElement.toggleAttribute("data-keys-off", !areOn);
  for (const element of document.querySelectorAll("[data-key]")) {
    if (areOn) {
      element.setAttribute("aria-keyshortcuts", element.dataset.key);
    } else {
      element.removeAttribute("aria-keyshortcuts");
    }
  }
}

function strike(event) {
  if (!areOn || event.defaultPrevented || event.repeat || event.isComposing) {
    return;
  }
  if (event.ctrlKey || event.metaKey || event.altKey || event.target.closest(TYPING)) {
    return;
  }
  // With Caps Lock a letter comes as a capital, with Shift it is another key.
  const key = event.shiftKey ? event.key : event.key.toLowerCase();
  const element = keyed().find((one) => one.dataset.key === key);
  if (element) {
    event.preventDefault();
    press(element);
  } else if (key === "?") {
    event.preventDefault();
    fill();
    help.showModal();
  }
}

if (help) {
  const box = help.querySelector("[data-keys-switch]");
  box.checked = areOn;
  box.addEventListener("change", () => {
    areOn = box.checked;
    remember(areOn);
    announce();
  });
  // On the window, after everything that listens on the document: a page's own keys go before those of the navigation.
  window.addEventListener("keydown", strike);
  document.addEventListener("click", (event) => {
    // dialog.js opens it.
    if (event.target.closest(`[data-dialog-open="${help.id}"]`)) {
      fill();
    }
  });
  document.addEventListener("htmx:afterSettle", announce);
  announce();
}

// Marks that all tabs of this tablet see at once and that survive a reload: "locked", "leaving" and the name of the
// sign-in. Kept in localStorage, because it answers before the first paint. They name a user and a time, nothing of a
// patient.

const NAMES = { locked: "charting-locked", leaving: "charting-leaving", session: "charting-session" };
// Where the browser refuses storage, a mark lives as long as the page.
const memory = {};

export function marked(what) {
  try {
    return JSON.parse(localStorage.getItem(NAMES[what])) ?? memory[what] ?? null;
  } catch {
    return memory[what] ?? null;
  }
}

export function mark(what, value) {
  memory[what] = value;
  try {
    localStorage.setItem(NAMES[what], JSON.stringify(value));
  } catch {
    // no storage
  }
}

export function unmark(what) {
  delete memory[what];
  try {
    localStorage.removeItem(NAMES[what]);
  } catch {
    // no storage
  }
}

// act(value or null) when another tab marks or unmarks.
export function onMarked(what, act) {
  window.addEventListener("storage", ({ key, newValue }) => {
    if (key === NAMES[what]) {
      act(newValue ? JSON.parse(newValue) : null);
    }
  });
}

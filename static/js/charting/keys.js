// The keyboard, for what is not a button: move, remove or leave the chosen point, back and on.

const STEPS = { ArrowLeft: [-5, 0], ArrowRight: [5, 0], ArrowUp: [0, -5], ArrowDown: [0, 5] };

// Whether the key was one for the screen.
function heard(screen, event) {
  if (event.ctrlKey || event.metaKey) {
    const key = event.key.toLowerCase();
    if (key === "y" || (key === "z" && event.shiftKey)) {
      screen.redo();
    } else if (key === "z") {
      screen.undo();
    } else {
      return false;
    }
    return true;
  }
  if (!screen.chosen || event.altKey) {
    return false;
  }
  if (event.key in STEPS) {
    screen.nudge(...STEPS[event.key]);
  } else if (event.key === "Escape") {
    screen.choose(null);
  } else if (event.key === "Delete") {
    screen.remove();
  } else {
    return false;
  }
  return true;
}

export function attachKeys(screen) {
  document.addEventListener("keydown", (event) => {
    const isTaken = event.defaultPrevented || event.target.closest('input, select, textarea, dialog[open], [role="tab"]');
    if (screen.sessionKey && !isTaken && heard(screen, event)) {
      event.preventDefault();
    }
  });
}

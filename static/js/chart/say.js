// Telling the person: aloud, in the panel, or as a toast.

export function announce(text) {
  document.querySelector("[data-said]").textContent = text;
}

// A sentence beside what it is about; an empty one takes it away.
export function problem(scope, text) {
  const line = scope.querySelector("[data-problem]") ?? scope.closest("dialog")?.querySelector("[data-problem]");
  if (!line) {
    toast(text, { level: "error" });
    return;
  }
  line.textContent = text;
  line.hidden = !text;
  if (text) {
    line.scrollIntoView({ block: "nearest" });
  }
}

const STAY_MS = 9000;

export function toast(text, { level = "info", label = "", act = null } = {}) {
  const template = document.querySelector("[data-toast-template]");
  const node = template.content.firstElementChild.cloneNode(true);
  node.querySelector("[data-toast-text]").textContent = text;
  if (level !== "error") {
    node.classList.replace("toast--error", `toast--${level}`);
    node.dataset.toast = level;
    setTimeout(() => node.remove(), STAY_MS);
  }
  if (act) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "button";
    button.textContent = label;
    button.addEventListener("click", () => {
      node.remove();
      act();
    });
    node.querySelector("[data-toast-text]").append(" ", button);
  }
  document.querySelector("[data-toasts]").append(node);
}

// Tabs after the ARIA pattern: arrows move between them, the chosen one shows its panel.

export function attachTabs(root) {
  const all = [...root.querySelectorAll('[role="tab"]')];

  function choose(tab, focus) {
    for (const other of all) {
      const chosen = other === tab;
      other.setAttribute("aria-selected", String(chosen));
      other.tabIndex = chosen ? 0 : -1;
      document.getElementById(other.getAttribute("aria-controls")).hidden = !chosen;
    }
    if (focus) {
      tab.focus();
    }
  }

  root.addEventListener("click", (event) => {
    const tab = event.target.closest('[role="tab"]');
    if (tab) {
      choose(tab, false);
    }
  });
  root.addEventListener("keydown", (event) => {
    const tabs = all.filter(({ hidden }) => !hidden);
    const index = tabs.indexOf(event.target);
    const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (index >= 0 && step) {
      event.preventDefault();
      event.stopPropagation();
      choose(tabs[(index + step + tabs.length) % tabs.length], true);
    }
  });
}

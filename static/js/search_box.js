// The keys of a search, after the combobox pattern with a listbox popup of the WAI-ARIA Authoring Practices Guide: the
// focus stays in the field, arrow keys walk the hits, Enter opens one, Escape closes and, pressed again, empties the
// field. htmx fetches the hits (search/_found.html, patients/_hits.html).

function attach(form) {
  const input = form.querySelector("[data-search-input]");
  const results = document.getElementById(input.getAttribute("hx-target").slice(1));
  const status = form.querySelector("[data-search-status]");
  const heading = document.querySelector("[data-search-heading]");
  const floats = form.contains(results);
  // Hits that answer an earlier text must not be opened by Enter.
  let current = true;

  const options = () => [...results.querySelectorAll("[role='option']")];
  const chosen = () => results.querySelector("[role='option'][aria-selected='true']");

  function choose(option) {
    chosen()?.setAttribute("aria-selected", "false");
    if (option) {
      option.setAttribute("aria-selected", "true");
      option.scrollIntoView({ block: "nearest" });
      input.setAttribute("aria-activedescendant", option.id);
    } else {
      input.removeAttribute("aria-activedescendant");
    }
  }

  function show(shown) {
    if (floats) {
      results.hidden = !shown;
    }
    input.setAttribute("aria-expanded", String(shown && options().length > 0));
  }

  function step(by) {
    const all = options();
    if (all.length === 0) {
      return;
    }
    show(true);
    const at = all.indexOf(chosen());
    const next = at < 0 && by < 0 ? all.length - 1 : (at + by + all.length) % all.length;
    choose(all[next]);
  }

  function enter(event) {
    const only = current && input.value.trim() && options().length === 1 ? options()[0] : null;
    const target = current ? (chosen() ?? only) : null;
    if (target) {
      event.preventDefault();
      target.click();
    }
  }

  input.addEventListener("input", () => {
    current = false;
    choose(null);
  });
  input.addEventListener("keydown", (event) => {
    if (event.isComposing) {
      return;
    }
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      event.preventDefault();
      step(event.key === "ArrowDown" ? 1 : -1);
    } else if (event.key === "Enter") {
      enter(event);
    } else if (event.key === "Escape") {
      if (floats && !results.hidden && results.hasChildNodes()) {
        event.preventDefault(); // the browser would empty the field at once
      }
      choose(null);
      show(false);
    }
  });
  input.addEventListener("htmx:beforeRequest", (event) => {
    event.detail.xhr.typed = input.value;
  });
  results.addEventListener("htmx:afterSwap", (event) => {
    current = event.detail.xhr.typed === input.value;
    show(true);
    status.textContent = results.querySelector("[data-said]")?.dataset.said ?? "";
    if (heading) {
      heading.textContent = input.value.trim() ? heading.dataset.typed : heading.dataset.empty;
    }
  });
  form.addEventListener("focusin", () => show(true));
  form.addEventListener("focusout", (event) => {
    if (!form.contains(event.relatedTarget)) {
      show(false);
    }
  });
  if (document.activeElement === input) {
    show(true);
  }
}

document.querySelectorAll("form[data-search]").forEach(attach);

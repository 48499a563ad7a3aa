// Building the page from what is shown. Every text goes in as text, never as HTML; what is pressed is heard on the panel
// that holds it, by data- attributes, so that drawing again never loses a finger that is just down.

const NAMESPACE = "http://www.w3.org/2000/svg";

function set(element, attributes) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === true) {
      element.setAttribute(name, "");
    } else if (value !== false && value !== null && value !== undefined) {
      element.setAttribute(name, String(value));
    }
  }
  return element;
}

// Children may be nodes, texts, lists of them, or nothing (null, false).
export function node(tag, attributes = {}, ...children) {
  const element = set(document.createElement(tag), attributes);
  element.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

export function svgNode(tag, attributes = {}, ...children) {
  const element = set(document.createElementNS(NAMESPACE, tag), attributes);
  element.append(...children);
  return element;
}

// A sign of the sprite; `label` is read aloud, for signs without a word beside them.
export function icon(name, label = "") {
  const heard = label ? { role: "img", "aria-label": label } : { "aria-hidden": "true" };
  const use = svgNode("use", { href: `${document.body.dataset.icons}#${name}` });
  return svgNode("svg", { class: "icon", viewBox: "0 0 24 24", focusable: "false", ...heard }, use);
}

// A name as a person writes it, whatever its direction.
export function bdi(text, attributes = {}) {
  return node("bdi", attributes, text);
}

export function button(attributes, ...children) {
  return node("button", { type: "button", class: "button", ...attributes }, ...children);
}

// A sign drawn whole by the server, the same for everyone: a trusted drawing of the reference, not words of a person.
export function drawing(markup, attributes = {}) {
  const parsed = new DOMParser().parseFromString(markup, "image/svg+xml");
  return set(document.importNode(parsed.documentElement, true), { focusable: "false", ...attributes });
}

const keyOf = (child) => child.dataset?.key ?? null;

function isAlike(old, fresh) {
  return old.nodeType === fresh.nodeType && old.nodeName === fresh.nodeName && keyOf(old) === keyOf(fresh);
}

function patchAttributes(old, fresh) {
  for (const { name } of [...old.attributes]) {
    if (!fresh.hasAttribute(name) && !(name === "open" && old.localName === "details")) {
      old.removeAttribute(name);
    }
  }
  for (const { name, value } of [...fresh.attributes]) {
    if (old.getAttribute(name) !== value) {
      old.setAttribute(name, value);
    }
  }
  // A field that is being typed in is the person's own.
  if (old.matches("input, textarea") && old !== document.activeElement) {
    old.checked = fresh.hasAttribute("checked");
    if (fresh.hasAttribute("value")) {
      old.value = fresh.getAttribute("value");
    }
  }
}

function patchNode(old, fresh) {
  if (old.nodeType !== Node.ELEMENT_NODE) {
    if (old.nodeValue !== fresh.nodeValue) {
      old.nodeValue = fresh.nodeValue;
    }
    return;
  }
  patchAttributes(old, fresh);
  if (!old.hasAttribute("data-keep") && old.localName !== "textarea") {
    patch(old, ...fresh.childNodes);
  }
}

// Make the children of `parent` look like `children`, changing as little as can be: focus, scroll and a finger that is
// down stay where they are. Children with data-key are found again wherever they stand.
export function patch(parent, ...children) {
  const fresh = children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false)
    .map((child) => (child instanceof Node ? child : document.createTextNode(String(child))));
  const wanted = new Set(fresh.map(keyOf));
  const known = new Map([...parent.children].filter(keyOf).map((child) => [keyOf(child), child]));
  let at = parent.firstChild;
  const pass = () => {
    const gone = at;
    at = at.nextSibling;
    return gone;
  };
  for (const child of fresh) {
    while (at && keyOf(at) && !wanted.has(keyOf(at))) {
      pass().remove();
    }
    const same = keyOf(child) ? known.get(keyOf(child)) : at && isAlike(at, child) ? at : null;
    if (!same || same.nodeName !== child.nodeName) {
      parent.insertBefore(child, at);
    } else {
      if (same === at) {
        pass();
      } else {
        parent.insertBefore(same, at);
      }
      patchNode(same, child);
    }
  }
  while (at) {
    pass().remove();
  }
}

// Draw a panel now and after each change, behind the frame in which the mark appears. Behind the lock's cover there is
// nothing to draw on: then it is drawn when the lock opens.
export function drawOnChange(screen, draw) {
  let asked = false;
  const later = () => {
    if (!asked) {
      asked = true;
      requestAnimationFrame(() => setTimeout(() => {
        asked = false;
        if (!screen.app.locked) {
          draw();
        }
      }));
    }
  };
  screen.addEventListener("change", later);
  screen.app.addEventListener("unlocked", later);
  later();
  return later;
}

// root hears `event` on whatever carries `attribute`: act(element, event).
export function on(root, event, attribute, act) {
  root.addEventListener(event, (heard) => {
    const element = heard.target.closest(`[${attribute}]`);
    if (element && root.contains(element) && !element.disabled) {
      act(element, heard);
    }
  });
}

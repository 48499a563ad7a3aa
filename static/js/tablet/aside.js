// Takes what is clinical out of the page and brings it back as it was: typed text, scroll and focus included.
//
// The nodes themselves are kept in memory, so that nothing has to be drawn or remembered a second time.

const HOLDERS = "#content, dialog[data-sheet], [data-news], [data-toasts], [data-said]";

function scrolled(root) {
  return [...root.querySelectorAll("*")].filter((node) => node.scrollTop || node.scrollLeft)
    .map((node) => [node, node.scrollTop, node.scrollLeft]);
}

// `cover` stays; the rest of the page is out of reach for hands, keys and screen readers.
export function takeAway(cover) {
  const focus = document.activeElement;
  const title = document.title;
  const held = [...document.querySelectorAll(HOLDERS)].map((holder) => ({ holder, nodes: [...holder.childNodes], scroll: scrolled(holder) }));
  held.forEach(({ holder }) => holder.replaceChildren());
  const others = [...document.body.children].filter((child) => child !== cover && !child.inert && !child.matches("script, template, noscript"));
  others.forEach((child) => (child.inert = true));
  document.title = "Locked · Clinic record";
  return { held, others, focus, title };
}

// What was drawn meanwhile by a part that did not wait is dropped: it is drawn anew.
export function bringBack({ held, others, focus, title }) {
  others.forEach((child) => (child.inert = false));
  for (const { holder, nodes, scroll } of held) {
    holder.replaceChildren(...nodes);
    scroll.forEach(([node, top, left]) => node.scrollTo({ top, left, behavior: "instant" }));
  }
  document.title = title;
  if (focus?.isConnected) {
    focus.focus({ preventScroll: true });
  }
}

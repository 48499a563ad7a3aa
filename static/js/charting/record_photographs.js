// The ways to the photographs of the patient's record: to look at, and to take today's series. They leave this screen for
// pages that the clinic's server shows, so they need the network; what is stored on this tablet waits and is sent from here.

import { drawOnChange, icon, node, patch } from "./dom.js";

const WORDS = {
  ok: "These leave this screen and need the network. What was logged here stays kept.",
  "signed-out": "Sign in again first: these pages are the clinic’s own.",
  away: "These need the network, and there is no contact with the clinic now.",
};
const NOT_STORED = "Wait: an entry is held by this open page alone. Do not leave it yet.";

function link(address, sign, words) {
  return node("a", { class: "button", href: address, role: address ? null : "link", "aria-disabled": address ? null : "true" }, icon(sign), ` ${words}`);
}

// An address of the page's own, made for no patient, as that of this one.
function addressOf(pattern, { pk }) {
  return pattern.replace("/0/", `/${pk}/`);
}

export function attachRecordPhotographs(screen, root) {
  const { app } = screen;
  const { list, take } = root.dataset;
  const draw = () => {
    const { state } = screen;
    if (!state) {
      return;
    }
    const isHeld = app.waiting.some((each) => ["memory", "storing"].includes(each.state));
    const isOpen = app.contact.state === "ok" && !isHeld;
    const asked = new URLSearchParams({ kind: state.tray?.[0]?.kind ?? "", session: state.pk ?? "" });
    const to = (pattern, query = "") => (isOpen ? addressOf(pattern, state.patient) + query : null);
    patch(
      root,
      node("div", { class: "pictures__add" },
        link(to(take, `?${asked}`), "camera", "Today’s series"), link(to(list), "picture", "All photographs")),
      node("p", { class: "quiet small" }, isHeld ? NOT_STORED : WORDS[app.contact.state]),
    );
  };
  const later = drawOnChange(screen, draw);
  ["contact", "waiting"].forEach((event) => app.addEventListener(event, later));
}

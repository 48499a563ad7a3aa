// The way out of a session that was started by mistake, offered as long as nothing was written in it.

import { bdi, button, node, on } from "./dom.js";
import { goTo } from "./route.js";
import { openSheet, sheetNamed } from "./sheet.js";
import { personParts } from "./strip.js";
import { attentionOf } from "./waiting.js";

function canBeSetAside({ app, isOpen, sessionKey, state }) {
  return isOpen && state.is_empty && !attentionOf(app, sessionKey).length;
}

export function mistakeOffer(screen) {
  return canBeSetAside(screen) ? button({ class: "button button--plain", "data-mistake": true }, "Started by mistake?") : null;
}

function ask({ state: { patient } }) {
  openSheet(sheetNamed("mistake"), {
    title: "Started by mistake?",
    head: [node("p", {}, bdi(patient.name), " ", personParts(patient))],
    body: node("p", {}, "Nothing was written in this session. It leaves all lists for good; its appointment is free again."),
    foot: [
      button({ class: "button", "data-dialog-close": true }, "Keep it"),
      button({ class: "button button--primary", "data-mistake-done": true }, "It was a mistake"),
    ],
  });
}

export function attachMistake(screen, root) {
  const sheet = sheetNamed("mistake");
  on(root, "click", "data-mistake", () => ask(screen));
  on(sheet, "click", "data-mistake-done", () => {
    sheet.close();
    // Another tablet's point may have come while it was asked.
    if (canBeSetAside(screen)) {
      screen.act("set_aside", {});
      screen.say("Set aside: it was started by mistake.");
      goTo(null);
    }
  });
}

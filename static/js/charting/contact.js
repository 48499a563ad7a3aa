// How this tablet stands with the clinic, who uses it, and what to know before charting.

import { clockTime, pluralOf, shortTime } from "./dates.js";
import { forAuthor } from "./departure.js";
import { bdi, button, drawOnChange, icon, node, on, patch } from "./dom.js";

function signInAddress() {
  return document.body.dataset.signIn + encodeURIComponent(location.hash);
}

function signIn() {
  return node("a", { class: "button", href: signInAddress() }, "Sign in again");
}

// The sentence, and the link where a person has to do something.
function contactParts(app) {
  const { state, since, message } = app.contact;
  if (state === "ok") {
    return [icon("check"), node("span", {}, "In contact with the clinic")];
  }
  if (state === "signed-out") {
    const link = node("a", { href: signInAddress() }, "sign in again");
    return [icon("lock"), node("span", {}, "Signed out: ", link, ". Everything is kept on this tablet.")];
  }
  const from = since ? ` since ${clockTime(since)}` : "";
  return [icon("state-overdue"), node("span", { title: message || null }, `No contact${from}: everything is kept on this tablet`)];
}

function banner(level, sign, title, text, ...acts) {
  return node(
    "div", { class: `flag flag--${level} banner`, "data-key": title }, icon(sign),
    node("div", { class: "flag__body" }, node("p", { class: "flag__title" }, title), node("p", {}, text)),
    acts.length ? node("div", { class: "banner__acts" }, acts) : null,
  );
}

function insecure(app) {
  return app.secure === false && banner(
    "caution", "caution", "This connection is not secure",
    "The browser keeps this screen for times without network only when it is opened over https. What you log is still kept on "
    + "this tablet, but do not close or reload the page without network. Ask whoever looks after the server for the https address.",
  );
}

// What one person left here: its author takes it back, anybody else sends what needs no decision.
function parcel(app, { author, operations, pictures }) {
  const toDecide = forAuthor(operations).length;
  const count = operations.length + pictures.length;
  const name = bdi(author.name || "a colleague");
  if (author.id === app.user?.id) {
    return banner("note", "note", "Entries of yours were left on this tablet",
      [pluralOf(count, "entry", "entries"), " not yet in the clinic", toDecide ? `, ${toDecide} for you to decide or sign.` : "."],
      button({ "data-take-over": true }, "Take them back"));
  }
  if (toDecide === count) {
    return banner("note", "note", "Entries on this tablet wait for a colleague",
      [pluralOf(count, "entry", "entries"), " of ", name, " not in the clinic: only ", bdi(author.name || "that person"),
        " can decide about them, after signing in here."]);
  }
  return banner("note", "note", "Entries were handed over on this tablet",
    [pluralOf(count, "entry", "entries"), " of ", name, " left here, not yet in the clinic. What you send stays in that name."
      + (toDecide ? ` ${toDecide} will wait for a decision of their own.` : "")],
    button({ "data-take-over": true }, "Take over and send"));
}

function handedOver(app) {
  return app.handedOver.map((each) => {
    const told = parcel(app, each);
    told.dataset.key = each.id;
    return told;
  });
}

function lostMemory(app) {
  const count = app.waiting.filter(({ state }) => state === "memory").length;
  return count > 0 && banner(
    "stop", "stop", "This tablet cannot store any more",
    `${pluralOf(count, "entry is", "entries are")} held only by this open page. Do not close it. Make room on the tablet, or stay in `
    + "contact with the clinic until everything is stored there.",
  );
}

function spoken(sentences) {
  return sentences.map((text) => banner("caution", "caution", text, "Said by the clinic’s server."));
}

export function attachContact(screen) {
  const { app } = screen;
  const banners = document.querySelector("[data-banners]");
  const contact = document.querySelector("[data-contact]");
  let sentences = [];
  const draw = () => {
    contact.className = `contact contact--${app.contact.state}`;
    patch(contact, contactParts(app));
    patch(banners, insecure(app), handedOver(app), lostMemory(app), spoken(sentences), signedOut(app));
    for (const name of document.querySelectorAll("[data-user-name]")) {
      name.textContent = app.user?.name ?? "";
    }
    const left = app.waiting.length;
    document.querySelector("[data-user-waiting]").textContent = left
      ? `${pluralOf(left, "entry waits", "entries wait")} on this tablet` : "Nothing waits on this tablet";
  };
  const later = drawOnChange(screen, draw);
  app.addEventListener("alerts", ({ detail }) => {
    sentences = detail ?? [];
    later();
  });
  for (const event of ["contact", "waiting", "locked"]) {
    app.addEventListener(event, later);
  }
  on(banners, "click", "data-take-over", () => app.takeOver());
}

function signedOut(app) {
  return app.contact.state === "signed-out" && banner(
    "caution", "lock", "You are signed out",
    `Go on charting: ${pluralOf(app.waiting.length, "entry", "entries")} kept on this tablet${app.contact.since ? ` since ${shortTime(app.contact.since)}` : ""}, sent once you have signed in again.`,
    signIn(),
  );
}

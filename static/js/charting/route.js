// Which session the address names: "#<session key>", or none for the day's list.

export function goTo(key) {
  location.hash = key ?? "";
}

export function attachRoute(screen) {
  const day = document.querySelector("[data-day]");
  const session = document.querySelector("[data-session]");
  const back = document.querySelector("[data-to-day]");
  const follow = () => {
    const key = location.hash.slice(1) || null;
    for (const sheet of document.querySelectorAll("dialog[data-sheet][open]")) {
      sheet.close();
    }
    if (key !== screen.sessionKey) {
      screen.show(key);
    }
    place();
  };
  // A session that this tablet does not know yet may come with the next answer.
  const place = () => {
    const isSession = Boolean(screen.state);
    session.hidden = !isSession;
    day.hidden = isSession;
    back.hidden = !screen.sessionKey;
    document.body.classList.toggle("in-session", isSession);
  };
  screen.addEventListener("change", place);
  // The clinic knew an open session of this patient: what was logged goes on there.
  screen.app.addEventListener("moved", ({ detail: { from, to } }) => from === screen.sessionKey && location.replace(`#${to}`));
  window.addEventListener("hashchange", () => {
    follow();
    // What was pressed is gone with what it stood on: from there a keyboard would begin at the top of the page.
    const { activeElement } = document;
    if (activeElement === document.body || !activeElement.checkVisibility()) {
      document.getElementById("content").focus({ preventScroll: true });
    }
  });
  follow();
}

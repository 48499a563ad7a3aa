"""
One tablet of a chaos run: a Chromium with a profile on the disk, its tabs, and its own bad line.

What the tablet's pages report is noted here at once; a page that is closed or killed takes with it
only what it had not yet written to its storage, and what that was is noted too.
"""

import contextlib
import os
import signal
from collections import Counter
from pathlib import Path

from playwright.sync_api import BrowserContext, Error, Page, Playwright

from tests.browser.conftest import CHROMIUM, SWITCHES
from tests.browser.watch import TABLET
from tests.chaos.proxy import Proxy
from tests.chaos.verdict import Act, Shown

SCRIPTS = "\n".join((Path(__file__).parent / name).read_text() for name in ("page.js", "acts.js"))
PATIENCE_MS, END_PATIENCE_MS = 15_000, 60_000
UNTIL = "(asked) => window.chaos?.until(...asked)"


class Tablet:
    """A browser that survives its own end: storage, and nothing else, is kept in `profile`."""

    def __init__(
        self, name: str, playwright: Playwright, profile: Path, proxy: Proxy, cookie: dict
    ) -> None:
        self.name, self.proxy, self.cookie = name, proxy, cookie
        self._playwright, self._profile = playwright, profile
        self.acts: dict[str, Act] = {}
        self.waiting: dict[str, dict] = {}
        self.pages: list[Page] = []
        self.step = 0
        self.choices: Counter[str] = Counter()
        self.problems: list[str] = []
        self.context: BrowserContext | None = None

    @property
    def origin(self) -> str:
        return f"http://127.0.0.1:{self.proxy.port}"

    # --- the browser and its tabs -------------------------------------------------------------

    def start(self) -> None:
        for name in ("SingletonLock", "SingletonCookie", "SingletonSocket"):
            (self._profile / name).unlink(missing_ok=True)
        self.context = self._playwright.chromium.launch_persistent_context(
            str(self._profile), executable_path=CHROMIUM, args=SWITCHES, viewport=TABLET,
            has_touch=True, locale="en-GB", base_url=self.origin,
        )  # fmt: skip
        self.context.set_default_timeout(PATIENCE_MS)
        self.context.add_init_script(SCRIPTS)
        self._set_cookie()
        self.pages = [self.context.pages[0]]
        self._load(self.pages[0])

    def sign_in(self, cookie: dict) -> None:
        self.cookie = cookie
        self._set_cookie()

    def _set_cookie(self) -> None:
        """Also after each start: a killed browser may not have written its cookies."""
        self.context.add_cookies([self.cookie | {"url": self.origin, "httpOnly": True}])

    def open_tab(self) -> bool:
        page = self.context.new_page()
        if loaded := self._load(page):
            self.pages.append(page)
        else:
            page.close()
        return loaded

    def close_tab(self) -> bool:
        """Close the first tab, so that the one that goes on is the one that came later."""
        self.tear()
        self.pages.pop(0).close()
        return True

    def reload(self) -> None:
        self.tear()
        self._load(self.pages[0])

    def restart(self) -> None:
        """Close the browser in good order and open it again."""
        self.tear()
        self.context.close()
        self.start()

    def kill(self) -> None:
        """End the browser and all its processes with SIGKILL, and open it again."""
        self.tear()
        for pid in processes_of(self._profile):
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        with contextlib.suppress(Error):
            self.context.close()
        self.start()

    def close(self) -> None:
        """End it without a word, whatever state it is in."""
        with contextlib.suppress(Error):
            self.context.close()

    def come_back(self) -> None:
        """The charting screen stands in the first tab, by now at the latest."""
        if not self.is_ready() and not self._load(self.pages[0]):
            raise TimeoutError(f"{self.name}: the charting screen does not come up")

    def refresh(self) -> None:
        """Load the screen anew, so that it fetches every session of the day."""
        self.tear()
        if not self._load(self.pages[0]):
            raise TimeoutError(f"{self.name}: the charting screen does not come up")
        if not self.ask(UNTIL, ["fresh", END_PATIENCE_MS]):
            contact = self.ask("() => window.charting.contact")
            raise TimeoutError(f"{self.name} does not learn how things stand: {contact}")

    def is_quiet(self, patience_ms: int) -> bool:
        """Whether nothing waits any more, nothing for a person either."""
        self.sent(patience_ms)
        self.look()
        return not self.waiting

    def _load(self, page: Page) -> bool:
        """Open the charting screen; False when neither the line nor the worker gave it."""
        page.on("pageerror", self._on_error)
        try:
            page.goto("/charting/")
            if not page.evaluate(UNTIL, ["ready", PATIENCE_MS]):
                return False
        except Error:
            return False
        return True

    def _on_error(self, error: Error) -> None:
        self.problems.append(f"{self.name}, step {self.step}: script error: {error.stack}")

    def is_ready(self, tab: int = 0) -> bool:
        """Whether the charting screen stands in this tab."""
        return self.ask("() => window.chaos?.isReady()", tab=tab) is True

    def ask(self, script: str, argument=None, *, tab: int = 0):
        """What the script gives in a tab; None when the page is not there."""
        try:
            return self.pages[tab % len(self.pages)].evaluate(script, argument)
        except Error as error:
            if "Execution context was destroyed" in str(error):
                return None
            raise

    # --- what hands do on it ------------------------------------------------------------------

    def do(self, step, sessions: list[str]) -> str | None:
        """One act of a hand, in one of the tabs."""
        tab = 1 if step.dice[4] > 0.7 else 0
        if not self.is_ready(tab):
            return "no charting screen" if not self._load(self.pages[0]) else "screen came back"
        argument = [step.name, sessions, list(step.dice)]
        return self.ask("(given) => window.chaos?.do(...given)", argument, tab=tab)

    def touch(self, dice: tuple[float, ...], sessions: list[str]) -> str | None:
        """A real finger on the chart of a session."""
        self.pages[0].bring_to_front()
        at = self.ask("(given) => window.chaos?.touchAt(...given)", [sessions, list(dice)])
        if at is None:
            return None
        self.pages[0].touchscreen.tap(at["x"], at["y"])
        return f"touched {at['x']:.0f}, {at['y']:.0f}"

    def settle(self, dice: tuple[float, ...]) -> str | None:
        """A person's choice about one act that needs one, in a few words."""
        return self.ask("(dice) => window.chaos?.settle(dice)", list(dice))

    def sent(self, patience_ms: int) -> bool:
        """Whether everything that can go without a person has gone within so long."""
        return self.ask(UNTIL, ["sent", patience_ms]) is True

    # --- what was done on it ------------------------------------------------------------------

    def look(self) -> None:
        """Take over what the tabs report: new acts and choices, and where each waiting one is."""
        reports = [
            self.ask("() => window.chaos?.news()", tab=tab) for tab in range(len(self.pages))
        ]
        for report in filter(None, reports):
            self._note(report)
        if any(reports):
            self.waiting = {
                entry["id"]: entry
                for report in filter(None, reports)
                for entry in report["waiting"]
            }

    def _note(self, report: dict) -> None:
        self._note_acts(report["acts"])
        for chosen in report["choices"]:
            self._note_choice(chosen)
        for entry in report["waiting"]:
            if entry["written"] and entry["id"] in self.acts:
                self.acts[entry["id"]].is_written = True

    def _note_acts(self, acts: list[dict]) -> None:
        for told in acts:
            self.acts[told["id"]] = Act(**told, tablet=self.name, step=self.step)

    def _note_choice(self, chosen: dict) -> None:
        self.choices[chosen["was"]] += 1
        self._note_acts(chosen["made"])
        self.problems += lost_in_choice(chosen)
        for kept in chosen["rebased"]:
            if act := self.acts.get(kept["id"]):
                act.base = kept["base"]
        replaced = replacements(chosen)
        for gone in chosen["gone"]:
            if act := self.acts.get(gone["id"]):
                act.given_up, act.replaced_by = True, replaced.get(act.id)

    def tear(self) -> None:
        """Note, before pages go, what they keep unwritten: it alone may go with them."""
        self.look()
        for id, entry in self.waiting.items():
            if not entry["written"] and id in self.acts:
                self.acts[id].is_torn = True

    def shown(self, sessions: list[str]) -> Shown:
        found = self.ask("(keys) => window.chaos?.shown(keys)", sessions)
        if found is None:
            raise TimeoutError(f"{self.name} shows no charting screen")
        return Shown(
            tablet=self.name,
            points={point["key"]: point for point in found["points"]},
            sessions=set(found["sessions"]),
            held={int(pk): is_held for pk, is_held in found["held"].items()},
            waiting=[
                f"{self.acts.get(id, id)}: {entry['state']} ({entry['message']})"
                for id, entry in self.waiting.items()
            ],
        )


def processes_of(profile: Path) -> list[int]:
    """The browser's processes that work on this profile, and no others."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdecimal():
            with contextlib.suppress(OSError):
                command = (entry / "cmdline").read_bytes().split(b"\0")
                if f"--user-data-dir={profile}".encode() in command:
                    found.append(int(entry.name))
    return found


def replacements(chosen: dict) -> dict[str, str]:
    """What was made for what: acts of one kind on one thing, in their order."""

    def ids(side: str, kind: str, key: str) -> list[str]:
        rows = chosen[side]
        return [row["id"] for row in rows if (row["kind"], row["data"].get("key")) == (kind, key)]

    whats = {(row["kind"], row["data"].get("key")) for row in chosen["gone"]}
    pairs = [
        pair
        for kind, key in whats
        for pair in zip(ids("gone", kind, key), ids("made", kind, key), strict=False)
    ]
    return dict(pairs)


# Choices that keep the act, in another form.
# Removing what is removed already, and starting what was started elsewhere, need no act any more.
ENDED_BY_CHOICE = {("again", "remove"), ("again", "start"), ("existing", "start")}
KEEPING = {"again", "edit", "deviation", "other_unit", "existing", "anew"}
# Said of one session as it stood: of another it is not true.
OF_ONE_SESSION = {"set_aside"}


def lost_in_choice(chosen: dict) -> list[str]:
    """Acts that went with a choice which was to keep them: what was made must hold each of them."""
    if chosen["choice"] not in KEEPING:
        return []
    made = Counter((each["kind"], each["data"].get("key")) for each in chosen["made"])
    lost = []
    for gone in chosen["gone"]:
        what = (gone["kind"], gone["data"].get("key"))
        if made[what]:
            made[what] -= 1
        elif (
            gone["kind"] not in OF_ONE_SESSION
            and (chosen["choice"], chosen["kind"]) not in ENDED_BY_CHOICE
        ):
            lost.append(f"{gone['kind']} {gone['id']} went with the choice {chosen['choice']}")
    return lost

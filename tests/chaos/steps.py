"""
The steps of a run: what may happen, how often, and how each is done.

Which step comes and what its dice are depends on the seed and the step's number alone.
"""

import random
from collections import Counter
from dataclasses import dataclass

from clinic.staff.models import User
from tests.chaos import proxy as faults
from tests.chaos.clinic_day import end_sign_in, new_cookie, sign_at_the_desk, turn_quarantine
from tests.chaos.server import Server
from tests.chaos.tablet import Tablet

HANDS = {
    "log": 270, "touch": 40, "change": 80, "move": 60, "remove": 60, "restore": 20, "mirror": 30,
    "undo": 70, "redo": 40, "waste": 30, "open": 35, "put_back": 10, "edit": 20, "plan": 20,
    "unplan": 10, "start": 10, "set_aside": 6,
}  # fmt: skip
LINES = {"cut": 22, "silence": 3, "heal": 80, "latency": 15, "fault": 90}
ENDS = {
    "kill_server": 8, "reload": 14, "open_tab": 8, "close_tab": 6, "restart_browser": 4,
    "kill_browser": 5,
}  # fmt: skip
PEOPLE = {
    "settle": 60, "look": 40, "sync": 40, "move_clock": 6, "quarantine": 14, "sign_out": 4,
    "sign_in": 12, "desk_signs": 2,
}  # fmt: skip
WEIGHTS = HANDS | LINES | ENDS | PEOPLE
COUNTED = {
    "cut": "cuts", "silence": "silences", "reload": "reloads", "open_tab": "second tabs",
    "restart_browser": "browser restarts", "kill_browser": "browser kills",
    "move_clock": "clock jumps", "sign_out": "sign-outs", "desk_signs": "signed at the desk",
    "quarantine": "quarantines",
}  # fmt: skip
SYNC_PATIENCE_MS = 1500
HOUR_MS = 3_600_000


@dataclass(frozen=True)
class Step:
    """One step: its number, its name and six dice from 0 to 1."""

    number: int
    name: str
    dice: tuple[float, ...]

    @property
    def is_hand(self) -> bool:
        return self.name in HANDS


def step_of(seed: int, number: int, weights: dict[str, int] = WEIGHTS) -> Step:
    """The step of this number; independent of what happened before it."""
    rolled = random.Random(f"{seed}/{number}")  # noqa: S311 (chance on purpose, no secret)
    name = rolled.choices(list(weights), list(weights.values()))[0]
    return Step(number, name, tuple(rolled.random() for _ in range(6)))


class World:
    """Everything a step may lay hands on."""

    def __init__(self, server: Server, tablets: list[Tablet], injector: User) -> None:
        self.server, self.tablets, self.injector = server, tablets, injector
        self.counts: Counter[str] = Counter()

    def sign_in(self, tablet: Tablet) -> None:
        tablet.sign_in(new_cookie(self.injector))

    @property
    def sessions(self) -> list[str]:
        """Keys of all sessions that were ever started, oldest first."""
        started = [
            act.session
            for tablet in self.tablets
            for act in tablet.acts.values()
            if act.kind == "start"
        ]
        return list(dict.fromkeys(started))

    def take(self, step: Step) -> str:
        """Do one step; what came of it, in a few words for the log."""
        # The first tablet does most; the second comes in on the same sessions.
        tablet = self.tablets[0] if step.dice[5] < 0.65 else self.tablets[1]
        for each in self.tablets:
            each.step = step.number
        self.server.tend()
        if step.name == "touch":
            said = tablet.touch(step.dice, self.sessions)
        elif step.is_hand:
            said = tablet.do(step, self.sessions)
        else:
            said = getattr(self, f"_{step.name}")(tablet, step.dice)
        tablet.look()
        if said and step.name in COUNTED:
            self.counts[COUNTED[step.name]] += 1
        return f"{tablet.name} {step.name}: {said or 'nothing to do'}"

    def _cut(self, tablet, dice):
        tablet.proxy.cut()
        return "line cut"

    def _silence(self, tablet, dice):
        tablet.proxy.cut(silent=True)
        return "line silent"

    def _heal(self, tablet, dice):
        tablet.proxy.heal()
        tablet.ask("() => { window.charting?.flush(); }")
        return "line healed"

    def _latency(self, tablet, dice):
        tablet.proxy.line.latency = 0.4 * dice[0] ** 2
        return f"latency {tablet.proxy.line.latency * 1000:.0f} ms"

    def _fault(self, tablet, dice):
        fault = faults.FAULTS[int(dice[0] * len(faults.FAULTS))]
        tablet.proxy.faults.append(fault)
        return f"next: {fault}"

    def _kill_server(self, tablet, dice):
        self.server.kill()
        return "server killed"

    def _reload(self, tablet, dice):
        tablet.reload()
        return "reloaded"

    def _open_tab(self, tablet, dice):
        return "second tab" if len(tablet.pages) < 2 and tablet.open_tab() else None

    def _close_tab(self, tablet, dice):
        return "tab closed" if len(tablet.pages) > 1 and tablet.close_tab() else None

    def _restart_browser(self, tablet, dice):
        tablet.restart()
        return "browser restarted"

    def _kill_browser(self, tablet, dice):
        tablet.kill()
        return "browser killed"

    def _settle(self, tablet, dice):
        return tablet.settle(dice)

    def _look(self, tablet, dice):
        return f"{len(tablet.waiting)} wait"

    def _sync(self, tablet, dice):
        """Let it send what it has, as far as the line lets it."""
        return "all sent" if tablet.sent(SYNC_PATIENCE_MS) else "still waiting"

    def _move_clock(self, tablet, dice):
        hours = (dice[0] - 0.5) * 6
        tablet.ask("(by) => window.chaos?.moveClock(by)", round(hours * HOUR_MS))
        return f"clock moved by {hours:.1f} h"

    def _quarantine(self, tablet, dice):
        return turn_quarantine(dice[0], dice[1])

    def _sign_out(self, tablet, dice):
        end_sign_in(tablet.cookie)
        return "signed out at the server"

    def _sign_in(self, tablet, dice):
        self.sign_in(tablet)
        return "signed in"

    def _desk_signs(self, tablet, dice):
        return sign_at_the_desk(dice[0])

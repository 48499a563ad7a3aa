"""One run: the clinic, the server, two tablets, so many steps, and the comparison at the end."""

import gc
import os
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from greenlet import greenlet
from playwright.sync_api import sync_playwright

from tests.chaos.clinic_day import new_cookie, seed
from tests.chaos.proxy import Proxy
from tests.chaos.reading import read_stored
from tests.chaos.server import Server
from tests.chaos.steps import WEIGHTS, World, step_of
from tests.chaos.tablet import Tablet
from tests.chaos.verdict import Stored, differences

QUIET_SECONDS = 180
STEP_SECONDS = 90
SENT_MS = 10_000
NAMES = ("tablet 1", "tablet 2")


@dataclass
class Report:
    """What a run gave; `problems` is empty when all is well."""

    seed: int
    counts: Counter[str] = field(default_factory=Counter)
    log: list[str] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)

    @property
    def summary(self) -> str:
        shown = ", ".join(f"{count} {name}" for name, count in self.counts.items())
        return f"chaos seed {self.seed}: {shown}"


def run(
    number: int,
    steps: int,
    *,
    weights: dict[str, int] = WEIGHTS,
    spoil: Callable[[list[Tablet]], None] = lambda tablets: None,
) -> Report:
    """
    Take `steps` steps of this seed on the empty, migrated database of the settings.

    Args:
        weights: how often which step comes.
        spoil: may break something on the way, to see that the comparison finds it.
    """
    report, started = Report(number), time.monotonic()
    with watched(report), opened() as world:
        spoil(world.tablets)
        for count in range(1, steps + 1):
            signal.alarm(STEP_SECONDS)
            said = world.take(step_of(number, count, weights))
            report.log.append(f"{count:5} {time.monotonic() - started:6.1f} s  {said}")
        in_steps = time.monotonic() - started
        signal.alarm(2 * QUIET_SECONDS)
        shown = []
        try:
            come_to_rest(world, report)
            shown = [tablet.shown(world.sessions) for tablet in world.tablets]
        except TimeoutError as problem:
            report.problems.append(str(problem))
        acts, acknowledged = known_acts(world.tablets), acknowledgements(world.tablets)
        stored = read_stored()
        report.problems += differences(acts, acknowledged, stored, shown)
        if not stored.operations:
            report.problems.append("nothing was stored at all: the run proves nothing")
        report.problems += [problem for tablet in world.tablets for problem in tablet.problems]
        report.counts.update(counted(world, stored, steps))
        report.counts["seconds"] = round(in_steps)
    return report


@contextmanager
def watched(report: Report) -> Iterator[None]:
    """A step that hangs, such as a page caught in a loop, ends the program and says where."""

    def give_up(*_) -> None:
        told = [*report.log[-30:], f"seed {report.seed}: hangs after step {len(report.log)}"]
        os.write(sys.stdout.fileno(), "\n".join([*told, *stacks(), ""]).encode())
        os._exit(1)

    kept = signal.signal(signal.SIGALRM, give_up)
    signal.alarm(STEP_SECONDS)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, kept)


def stacks() -> list[str]:
    """Where the program waits; the browser's driver runs each caller in a greenlet of its own."""
    waiting = [each for each in gc.get_objects() if isinstance(each, greenlet) and each.gr_frame]
    return [line for each in waiting for line in traceback.format_stack(each.gr_frame)]


@contextmanager
def opened() -> Iterator[World]:
    """The seeded clinic, its server, and both tablets with the charting screen before them."""
    injector = seed()
    with ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="clinic-chaos-")))
        server = Server(folder)
        stack.callback(server.kill)
        server.start()
        server.wait()
        playwright = stack.enter_context(sync_playwright())
        tablets = []
        for name in NAMES:
            profile = folder / name.replace(" ", "-")
            profile.mkdir()
            proxy = stack.enter_context(Proxy(server.port, server.kill))
            tablet = Tablet(name, playwright, profile, proxy, new_cookie(injector))
            stack.callback(tablet.close)
            tablet.start()
            tablets.append(tablet)
        yield World(server, tablets, injector)


def come_to_rest(world: World, report: Report) -> None:
    """Heal everything, let a person settle what needs one, until nothing waits on any tablet."""
    for tablet in world.tablets:
        tablet.proxy.faults.clear()
        tablet.proxy.heal()
    for tablet in world.tablets:
        tablet.proxy.settle()  # with it the last fault that may kill the server is over
    world.server.wait()
    give_up_at = time.monotonic() + QUIET_SECONDS
    for tablet in world.tablets:
        world.sign_in(tablet)
        while len(tablet.pages) > 1:
            tablet.close_tab()
        tablet.come_back()
    dice = iter(range(1, 1_000_000))
    while time.monotonic() < give_up_at:
        if all(tablet.is_quiet(SENT_MS) for tablet in world.tablets):
            break
        for tablet in world.tablets:
            turn = next(dice) * 0.6180339887 % 1
            while said := tablet.settle((0.0, turn, turn, turn, turn, turn)):
                report.log.append(f"  end {tablet.name}: {said}")
                tablet.look()
                turn = next(dice) * 0.6180339887 % 1
    for tablet in world.tablets:
        tablet.refresh()
        tablet.look()


def known_acts(tablets: list[Tablet]) -> dict:
    return {id: act for tablet in tablets for id, act in tablet.acts.items()}


def acknowledgements(tablets: list[Tablet]) -> Counter[str]:
    """How often an answer on the wire called an operation applied."""
    return Counter(
        result["id"]
        for tablet in tablets
        for exchange in tablet.proxy.exchanges
        for result in exchange.answer.get("results", [])
        if result["outcome"] == "applied"
    )


def counted(world: World, stored: Stored, steps: int) -> Counter[str]:
    counts = Counter({"steps": steps, "server kills": world.server.kills})
    counts.update(world.counts)
    for tablet in world.tablets:
        counts.update({f"× {fault}": count for fault, count in tablet.proxy.happened.items()})
        counts.update({f"choices after {was}": count for was, count in tablet.choices.items()})
    counts["operations"] = len(stored.operations)
    counts["points"] = len(stored.points)
    return counts

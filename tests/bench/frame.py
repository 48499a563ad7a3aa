"""
From the touch to the mark's first frame: 30 points put on a tablet's chart that has 40 already.

Chromium's own trace is read (categories `devtools.timeline` and its frames), not a script's clock:

    at work     from the start of the `pointerup` event's dispatch to the end of the commit of the
                frame that holds the mark: all that the page itself does between finger and frame,
                by the clock and by the processor (on a busy machine the thread waits its turn)
    on screen   from the touch's time stamp to the frame's presentation, as the browser's
                `EventTiming` tells it; this waits for the next tick of the display, every 16.7 ms
"""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from planning.atlas.locate import NotOnFace, locate
from planning.vocabulary import Jaw, View
from records.sessions.models import TreatmentSession
from tests.bench.building import scaled
from tests.bench.points import served
from tests.bench.results import MILLISECONDS, Result, summed_up
from tests.browser.conftest import CHROMIUM, SWITCHES
from tests.browser.watch import TABLET
from tests.chaos.clinic_day import new_cookie
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session_with_unit,
    make_units,
    make_user,
)

SIZES = {"default": 0}
BEFORE, TOUCHES = 40, 30
ROUNDS = scaled(5, 1)
GOAL_MS = 16
# Marks stand so far apart that no touch falls on one.
APART_DMM = 110
CATEGORIES = ["devtools.timeline", "disabled-by-default-devtools.timeline", "latencyInfo"]


def places() -> list[tuple[int, int]]:
    """Places on the front view, in tenths of a millimetre, far enough apart."""
    found = []
    for y in range(-700, 1200, APART_DMM):
        for x in range(-700, 701, APART_DMM):
            try:
                locate(View.FRONT, x, y, Jaw.AVERAGE)
            except NotOnFace:
                continue
            found.append((x, y))
    return found


def build(_count: int) -> None:
    """A session with 40 points for each round."""
    injector = make_user("injector")
    units = make_units(injector, make_product(), quantity=ROUNDS)
    for number, unit in enumerate(units):
        patient = make_patient(injector, f"Bench Patient{number}")
        session = make_session_with_unit(injector, patient, unit)
        for x, y in places()[:BEFORE]:
            make_point(session, unit, x_dmm=x, y_dmm=y, amount=5)


def measure() -> Iterator[Result]:
    """The lines of the table."""
    found, on_screen = [], []
    with tablet() as page:
        for session in TreatmentSession.objects.order_by("id"):
            events = traced(page, session)
            found += frames(events)
            on_screen += shown_times(events)
    what = f"Touch to the mark's frame, {BEFORE} to {BEFORE + TOUCHES} points on the chart"
    told = {"unit": MILLISECONDS, "note": f"{len(found)} touches"}
    clock, processor = [each.clock for each in found], [each.processor for each in found]
    yield summed_up(f"{what}: the page's work", clock, goal=GOAL_MS, judged="p95", **told)
    yield summed_up(f"{what}: its processor time", processor, **told)
    yield summed_up(f"{what}: until it is on the screen", on_screen, **told)


@contextmanager
def tablet() -> Iterator[Page]:
    """A signed-in tablet before a real server."""
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "yes"
    with (
        served() as port,
        tempfile.TemporaryDirectory(prefix="clinic-bench-") as folder,
        sync_playwright() as playwright,
    ):
        origin = f"http://127.0.0.1:{port}"
        context = playwright.chromium.launch_persistent_context(
            str(Path(folder) / "profile"), executable_path=CHROMIUM, args=SWITCHES,
            viewport=TABLET, has_touch=True, base_url=origin, locale="en-GB",
        )  # fmt: skip
        injector = TreatmentSession.objects.first().injector
        context.add_cookies([new_cookie(injector) | {"url": origin, "httpOnly": True}])
        yield context.pages[0]
        context.close()


def traced(page: Page, session: TreatmentSession) -> list[dict]:
    """Touch 30 free places one after another; the trace's events."""
    open_chart(page, session)
    free = places()[BEFORE : BEFORE + TOUCHES]
    client = page.context.new_cdp_session(page)
    events: list[dict] = []
    ends: list[dict] = []
    client.on("Tracing.dataCollected", lambda chunk: events.extend(chunk["value"]))
    client.on("Tracing.tracingComplete", lambda end: ends.append(end))
    client.send(
        "Tracing.start",
        {"traceConfig": {"includedCategories": CATEGORIES}, "transferMode": "ReportEvents"},
    )
    for count, (x, y) in enumerate(free, start=BEFORE + 1):
        page.touchscreen.tap(*on_screen_at(page, x, y))
        page.wait_for_function(f"() => document.querySelectorAll('[data-row]').length === {count}")
    client.send("Tracing.end")
    while not ends:  # the events come while the page is asked for something
        page.evaluate("1")
    return events


def open_chart(page: Page, session: TreatmentSession) -> None:
    """The session's chart with all its marks, and nothing waiting."""
    page.goto("about:blank")
    page.goto(f"/charting/#{session.key}")
    page.wait_for_function(
        "(count) => document.querySelectorAll('[data-figure=front] [data-point]').length === count"
        " && window.charting.waiting.length === 0"
        " && document.querySelector('[data-figure=front] .face__paper svg')",
        arg=BEFORE,
    )


def on_screen_at(page: Page, x_dmm: int, y_dmm: int) -> tuple[float, float]:
    """Where a place of the front view is, in CSS pixels."""
    script = """([x, y]) => {
        const svg = document.querySelector("[data-figure=front] .face__paper svg");
        const at = new DOMPoint(x / 10, y / 10).matrixTransform(svg.getScreenCTM());
        return [at.x, at.y];
    }"""
    x, y = page.evaluate(script, [x_dmm, y_dmm])
    return x, y


@dataclass(frozen=True)
class Frame:
    """Milliseconds from a `pointerup`'s dispatch to its frame's commit, by clock and processor."""

    clock: float
    processor: float


def frames(events: list[dict]) -> list[Frame]:
    """
    The frame of each `pointerup`: the first commit after it on the same thread.

    The browser's own pages commit frames of theirs, in other processes. Style, layout, painting and
    commit are one task of the page's thread, so no earlier frame's commit can follow the touch.
    """
    touches = [event for event in events if is_dispatch(event, "pointerup")]
    return [_frame(touch, events) for touch in sorted(touches, key=lambda event: event["ts"])]


def _frame(touch: dict, events: list[dict]) -> Frame:
    commits = [
        event
        for event in events
        if event["name"] == "Commit"
        and (event["pid"], event["tid"]) == (touch["pid"], touch["tid"])
        and event["ts"] > touch["ts"]
    ]
    commit = min(commits, key=lambda event: event["ts"])
    return Frame(
        clock=(commit["ts"] + commit["dur"] - touch["ts"]) / 1000,
        processor=(commit["tts"] + commit["tdur"] - touch["tts"]) / 1000,
    )


def is_dispatch(event: dict, kind: str) -> bool:
    return event["name"] == "EventDispatch" and event["args"]["data"]["type"] == kind


def shown_times(events: list[dict]) -> list[float]:
    """Milliseconds from each `pointerup` to its frame on the screen, by `EventTiming`."""
    return [
        event["args"]["data"]["duration"]
        for event in events
        if event["name"] == "EventTiming"
        and event.get("args", {}).get("data", {}).get("type") == "pointerup"
    ]

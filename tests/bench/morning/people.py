"""
Who works in the clinic, and what they press.

Each routine is a generator that stops after each press, where the person thinks. A press is one
request, or a page with the parts that its scripts fetch. Weights say how often each is begun.

    Desk        looks at diary and lists, looks somebody up, books, marks who has arrived
    Tablet      logs points in an open session, and asks for its session and day as its page does
    Owner       looks at the start page, the week and the follow-up list
    OpenDiary   the diary on a desk's second screen, which asks every five seconds for changes
"""

import random
import re
import uuid
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from html import unescape
from itertools import count
from time import monotonic
from urllib.parse import urlencode

from tests.bench.morning.lines import Answer, Browser

# Seconds between two presses, the shortest and the longest. Assumed, no source.
DESK_THINKS, TABLET_THINKS, OWNER_THINKS = (2.0, 6.0), (3.0, 9.0), (4.0, 12.0)
# As static/js/diary/live.js and static/js/charting/sync.js have it.
DIARY_ASKS_EVERY, TABLET_ASKS_EVERY, DAY_EVERY = 5, 20, 60
MARK = re.compile(r'data-mark="(\w+)"')
VISIT = re.compile(r'data-visit="(\d+)"')
PANEL = re.compile(r'data-panel hx-get="([^"]+)" hx-trigger="load"')
OFFERED = re.compile(r'name="slot" value="(\d{4}[^"]+)"')

Presses = Iterator[None]


@dataclass(frozen=True, slots=True)
class Clinic:
    """
    What everybody knows of the clinic.

    Attributes:
        today: by the clinic's clock, as "2026-12-01".
        patients: (number, name) each.
        practitioners: their numbers.
    """

    today: str
    patients: list[tuple[int, str]]
    practitioners: list[int]

    def day(self, offset: int) -> date:
        return date.fromisoformat(self.today) + timedelta(days=offset)


@dataclass(frozen=True, slots=True)
class Who:
    """
    One of the people, with a share of the clinic that nobody else changes.

    Attributes:
        role: "desk", "tablet", "owner" or "diary".
        session: of the signed-in browser.
        user: the person's number.
        arriving: visits of today whose patients may come in.
        booking_days: days from today on which this desk alone books.
        charting, unit: the open session's key and its syringe.
    """

    role: str
    session: str
    user: int
    seed: int
    arriving: list[int] = field(default_factory=list)
    booking_days: list[int] = field(default_factory=list)
    charting: str = ""
    unit: int = 0


class Person:
    thinks = (0.0, 0.0)

    def __init__(self, who: Who, clinic: Clinic, browser: Browser) -> None:
        self.who, self.clinic, self.browser = who, clinic, browser
        self.chance = random.Random(who.seed)  # noqa: S311

    def presses(self) -> Presses:
        """One press after the other, without end."""
        routines = self.routines()
        while True:
            (routine,) = self.chance.choices(list(routines), list(routines.values()))
            yield from routine()

    def routines(self) -> dict:
        raise NotImplementedError

    def pause(self) -> float:
        """Seconds until the next press."""
        return self.chance.uniform(*self.thinks)

    def start_page(self) -> Presses:
        self.browser.get(f"Start page: {self.who.role}", "/")
        yield

    def patient_page(self, number: int) -> None:
        since = monotonic()
        page = self.browser.get(f"Patient's page: {self.who.role}", f"/patients/{number}/")
        addresses = [unescape(found) for found in PANEL.findall(page.body)]
        self.browser.get_together([("Panel of a patient's page", one) for one in addresses])
        self.browser.note(f"Patient's page with all panels: {self.who.role}", since)

    def somebody(self) -> Presses:
        self.patient_page(self.chance.choice(self.clinic.patients)[0])
        yield

    def week(self) -> Presses:
        asked: dict[str, object] = {"day": self.clinic.day(self.chance.choice([0, 7]))}
        if self.chance.random() < 0.7:
            asked["practitioner"] = self.chance.choice(self.clinic.practitioners)
        kind = "Diary: a person's week" if "practitioner" in asked else "Diary: everybody's week"
        self.browser.get(kind, f"/diary/week/?{urlencode(asked)}")
        yield

    def follow_up(self) -> Presses:
        self.browser.get("Follow-up list", "/follow-up/")
        yield


class Desk(Person):
    thinks = DESK_THINKS

    def routines(self) -> dict:
        return {
            self.look_at_day: 5,
            self.week: 2,
            self.look_up: 4,
            self.book: 3,
            self.somebody_arrives: 1,
            self.follow_up: 2,
            self.start_page: 2,
            self.messages: 1,
            self.waiting_list: 1,
        }

    def look_at_day(self) -> Presses:
        """Today or another day, by people or rooms, and a visit of it."""
        asked = {
            "day": self.clinic.day(self.chance.choice([0, 0, 0, 1, 2, 7])),
            "by": self.chance.choice(["practitioner", "practitioner", "room"]),
        }
        page = self.browser.get("Diary: a day", f"/diary/?{urlencode(asked)}")
        yield
        if visits := VISIT.findall(page.body):
            address = f"/diary/visit/{self.chance.choice(visits)}/"
            self.browser.get("Diary: a visit's panel", address, **{"HX-Request": "true"})
            yield

    def look_up(self) -> Presses:
        """A name typed into the box above every page, and the record."""
        number, name = self.chance.choice(self.clinic.patients)
        given, family = name.split()
        for typed in (given[:2], f"{given[:3]} {family[:2]}", f"{given} {family[:4]}"):
            self.browser.post("Search, as it is typed", "/search/live/", {"q": typed})
        yield
        self.patient_page(number)
        yield

    def book(self) -> Presses:
        """For a patient, on a day of one's own: the page, other times, and the booking."""
        patient, _ = self.chance.choice(self.clinic.patients)
        own = self.clinic.day(self.chance.choice(self.who.booking_days))
        kind = self.chance.choice(["consultation", "review", "top_up"])
        asked = {"patient": patient, "day": own, "kind": kind}
        self.browser.get("Booking page with times", f"/appointments/new/?{urlencode(asked)}")
        yield
        times = self._times(patient, kind, own)
        yield
        free = [slot for slot in OFFERED.findall(times.body) if slot.startswith(f"{own}T")]
        if free:
            address = f"/appointments/new/?{urlencode({'patient': patient})}"
            booked = {"kind": kind, "slot": self.chance.choice(free), "times": 1, "weeks": 1}
            self.browser.post("Booking", address, booked, want=(302,))
            yield

    def _times(self, patient: int, kind: str, own: date) -> Answer:
        asked = {"patient": patient, "kind": kind, "look_from": own}
        address = f"/appointments/times/?{urlencode(asked)}"
        return self.browser.get("Times that fit", address, **{"HX-Request": "true"})

    def somebody_arrives(self) -> Presses:
        """Marked on the day, which is then shown anew."""
        if not self.who.arriving:
            return
        address = f"/appointments/{self.who.arriving.pop()}/arrived/"
        back = f"/diary/?day={self.clinic.today}&by=practitioner"
        self.browser.post("Marking as arrived", address, {"next": back}, want=(302,))
        self.browser.get("Diary: a day", back)
        yield

    def messages(self) -> Presses:
        self.browser.get("Messages", "/reminders/")
        yield

    def waiting_list(self) -> Presses:
        self.browser.get("Waiting list", "/waiting-list/")
        yield


class Tablet(Person):
    thinks = TABLET_THINKS

    def __init__(self, who: Who, clinic: Clinic, browser: Browser) -> None:
        super().__init__(who, clinic, browser)
        self.device, self.sequence = str(uuid.uuid4()), count(1)
        # Tablets were taken up at different times.
        self.asked_at = monotonic() - self.chance.uniform(0, TABLET_ASKS_EVERY)
        self.day_at = monotonic() - self.chance.uniform(0, DAY_EVERY)

    def routines(self) -> dict:
        return {self.chart: 6, self.think: 6, self.somebody: 2, self.start_page: 2, self.week: 1}

    def presses(self) -> Presses:
        """What the page asks for by itself goes with the press after it fell due."""
        for _ in super().presses():
            now = monotonic()
            if now - self.day_at > DAY_EVERY:
                self.browser.get("Tablet: the day", "/charting/day/", Accept="application/json")
                self.day_at = now
            if now - self.asked_at > TABLET_ASKS_EVERY:
                self._sync("Tablet: how things stand", [])
            yield

    def chart(self) -> Presses:
        self._sync("Tablet: a point", [self._point()])
        yield

    def think(self) -> Presses:
        """Nothing is pressed."""
        yield

    def _sync(self, kind: str, operations: list[dict]) -> None:
        self.asked_at = monotonic()
        sent = {
            "device": self.device, "sent_at": _now(), "operations": operations,
            "sessions": [self.who.charting],
        }  # fmt: skip
        answer = self.browser.post_json(kind, "/charting/sync/", sent)
        if operations and '"outcome": "applied"' not in answer.body:
            self.browser.fail(f"{kind}: {answer.body[:300]}")

    def _point(self) -> dict:
        data = {
            "key": str(uuid.uuid4()), "view": "front", "x_dmm": 500, "y_dmm": 330,
            "plane": "supraperiosteal", "technique": "bolus", "instrument": "needle",
            "aspiration": "negative", "amount": 1, "gauge": 27, "length_mm": 13,
            "region": "zygomatic", "side": "left", "unit": self.who.unit, "reach_x_dmm": None,
            "reach_y_dmm": None, "picture": None, "deviation": "", "marking": None,
        }  # fmt: skip
        return {
            "id": str(uuid.uuid4()), "session": self.who.charting, "kind": "log", "base": None,
            "made_at": _now(), "sequence": next(self.sequence), "author": self.who.user,
            "handed_over": False, "data": data,
        }  # fmt: skip


class Owner(Person):
    thinks = OWNER_THINKS

    def routines(self) -> dict:
        return {self.start_page: 4, self.week: 1, self.follow_up: 1, self.somebody: 1}


class OpenDiary(Person):
    """Today by people, as live.js asks for it."""

    thinks = (DIARY_ASKS_EVERY, DIARY_ASKS_EVERY)

    def presses(self) -> Presses:
        address = f"/diary/?day={self.clinic.today}&by=practitioner"
        mark = self.browser.get("Diary: a day", address).mark
        yield
        while True:
            known = {"HX-Request": "true", "If-None-Match": mark}
            answer = self.browser.get("Diary, unchanged", address, want=(200, 304), **known)
            if answer.status == 200:
                self.browser.rename("Diary, changed since")
                mark = answer.mark
            yield


ROLES = {"desk": Desk, "tablet": Tablet, "owner": Owner, "diary": OpenDiary}


def _now() -> str:
    return datetime.now(UTC).isoformat()

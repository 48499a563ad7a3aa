"""
A full day of the diary: 200 visits with 8 practitioners, among two years of such days.

What the server does for it is timed whole, from the request to the last byte of the answer, through
every middleware: the page by people and by rooms, and the question of an open page whether anything
changed. Each against a view that answers with nothing, through the same middleware (bare.py).
Columns that did not change are kept; one line is of a page of which none was.
"""

from collections.abc import Callable, Iterator
from datetime import date, datetime, time, timedelta

from django.core.cache import cache
from django.test import Client, override_settings
from django.utils import timezone

from clinic.rooms.models import Room
from clinic.sites.models import Site
from clinic.staff.models import User
from records.appointments.models import Appointment
from records.patients.models import Alert, Patient
from tests.bench.building import day as day_after
from tests.bench.building import fast_load, fill, moment, scaled
from tests.bench.results import MILLISECONDS, Result, compared, interleaved, summed_up
from tests.factories import make_user

ROUNDS = scaled(100, 3)
PRACTITIONERS, VISITS = 8, 200
OTHER_DAYS = scaled(500, 5)
MINUTES = 20
GOAL_MS = 100
SIZES = {"default": VISITS}
DAY = date(2026, 12, 1)
ASKS = {"hx-request": "true"}


def build(visits: int) -> None:
    """Patients, one in four with an alert; the day's visits by their triggers, the others bare."""
    with fast_load():
        fill(
            User, PRACTITIONERS, id="n", username="'injector' || CAST(n AS text)",
            full_name="'Ida Injector ' || CAST(n AS text)", is_injector="TRUE",
        )  # fmt: skip
        fill(
            Patient, visits, id="n", record_number="'P' || CAST(n AS text)",
            full_name="'Ann Example-Featherstone ' || CAST(n AS text)",
            birth_date=day_after("-3650 - n % 20000"), phone="'07700 900' || CAST(n AS text)",
        )  # fmt: skip
        fill(
            Alert, visits // 4, id="n", patient_id="n * 4", kind="'allergy'", level="'stop'",
            text="'Lidocaine'", added_by_id="1",
        )  # fmt: skip
        # Two years of other days, so that the shown one has to be found.
        fill(
            Appointment, OTHER_DAYS * visits, id="n", patient_id=f"n % {visits} + 1",
            practitioner_id=f"n % {PRACTITIONERS} + 1", kind="'review'", state="'done'",
            starts_at=moment(f"n / {visits} * 86400 + n % {visits} / {PRACTITIONERS} * 1200"),
            changed_at=moment("n"),
        )  # fmt: skip
    make_user("desk")
    site = Site.objects.create(name="Larkstone")
    rooms = [Room.objects.create(site=site, name=f"Room {n + 1}") for n in range(PRACTITIONERS)]
    people = list(User.objects.filter(is_injector=True).order_by("pk"))
    for number in range(visits):
        book(number, people, rooms)


def book(number: int, people: list[User], rooms: list[Room]) -> None:
    """One after another for each practitioner, in a room of their own."""
    place, who = divmod(number, PRACTITIONERS)
    start = datetime.combine(DAY, time(8), tzinfo=timezone.get_current_timezone())
    Appointment.objects.create(
        patient_id=number + 1,
        practitioner=people[who],
        room=rooms[who],
        kind="treatment",
        starts_at=start + timedelta(minutes=place * (MINUTES + 5)),
        minutes=MINUTES,
        buffer_minutes=5,
    )


def measure() -> Iterator[Result]:
    """The lines of the table."""
    with override_settings(ROOT_URLCONF="tests.bench.bare", ALLOWED_HOSTS=["*"]):
        client = Client()
        client.force_login(User.objects.get(username="desk"))
        asked = answering(client, f"/diary/?day={DAY}", seen=seen(client))
        assert asked().status_code == 304
        pages = {by: answering(client, f"/diary/?day={DAY}&by={by}") for by in BY}
        for page in pages.values():
            assert page().content.count(b"data-visit=") == VISITS
        acts = {"empty": answering(client, "/bench/empty/"), "asked": asked, **pages}
        seconds = interleaved(ROUNDS, **acts)
        # By itself, because it takes the others' columns away too.
        seconds |= interleaved(ROUNDS, anew=forgetting(pages["practitioner"]))
    of = f"{VISITS} visits of {PRACTITIONERS} practitioners"
    for by, words in BY.items():
        taken = [1000 * one for one in seconds[by]]
        yield summed_up(
            f"A day of {of}, {words}", taken, unit=MILLISECONDS, goal=GOAL_MS, judged="p95"
        )
        yield compared(f"A day of {of}, {words}, to an empty view", seconds[by], seconds["empty"])
    yield summed_up(
        f"A day of {of}, by people, where no column was kept",
        [1000 * one for one in seconds["anew"]],
        unit=MILLISECONDS,
        goal=GOAL_MS,
        judged="p95",
    )
    yield summed_up(
        f"Whether that day changed: no, among {Appointment.objects.count():,} visits",
        [1000 * one for one in seconds["asked"]],
        unit=MILLISECONDS,
    )
    yield compared(
        "Whether that day changed: no, to an empty view", seconds["asked"], seconds["empty"]
    )


BY = {"practitioner": "by people", "room": "by rooms"}


def forgetting(page: Callable) -> Callable:
    """The page as after a start of the server: no column of it was written before."""

    def act():
        cache.clear()
        return page()

    return act


def seen(client: Client) -> str:
    """The mark of the day as a page has it."""
    return client.get(f"/diary/?day={DAY}", headers=ASKS).headers["ETag"]


def answering(client: Client, address: str, *, seen: str = "") -> Callable:
    """One request, as a page that has the mark `seen`, or as the browser that opens it."""
    headers = {**ASKS, "if-none-match": seen} if seen else {}
    return lambda: client.get(address, headers=headers)

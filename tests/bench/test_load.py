"""The bench's people must do what a clinic's do, without a fault; the server is left out here."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.test import Client

from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment, HeldCell
from records.reminders.models import Message
from records.reviews.models import Review
from records.sessions.models import InjectionEntry
from tests.bench import load as bench
from tests.bench.__main__ import where_it_is_morning
from tests.bench.morning.busy_clinic import SMALL, Size, fill_clinic
from tests.bench.morning.generator import Orders, read_orders, work
from tests.bench.morning.lines import Answer, Browser, Sample
from tests.bench.morning.people import ROLES, Clinic, Desk, Person, Presses, Who

NOW = datetime(2026, 12, 1, 10, 30, tzinfo=UTC)


class Inside:
    """A line that ends in this very process."""

    def __init__(self) -> None:
        self.client = Client(enforce_csrf_checks=True)

    def __call__(
        self, method: str, address: str, body: str | None, headers: Mapping[str, str]
    ) -> Answer:
        sent = dict(headers)
        kind = sent.pop("Content-Type", "")
        answer = self.client.generic(method, address, body or "", kind, headers=sent)
        return Answer(answer.status_code, answer.content.decode(), answer.headers.get("ETag", ""))


@pytest.fixture
def clinic(db, settings, monkeypatch) -> Clinic:
    monkeypatch.setenv("BENCH_SCALE", "small")
    settings.ROOT_URLCONF = "tests.bench.bare"
    with time_machine.travel(NOW, tick=True):
        fill_clinic(SMALL, NOW)
        yield bench.the_clinic()


def pressed(person: Person) -> Iterator[Sample]:
    """Every routine once."""
    for routine in person.routines():
        for _ in routine():
            yield from person.browser.finish()


def test_a_day_of_everybody_s_meets_no_fault(clinic):
    people = {
        who.role: ROLES[who.role](who, clinic, Browser([Inside()], who.session))
        for who in bench.everybody()
    }
    watching = people.pop("diary")
    presses = watching.presses()
    for _ in range(2):
        next(presses)
    booked = Appointment.objects.count()
    samples = [sample for person in people.values() for sample in pressed(person)]
    next(presses)
    samples += watching.browser.finish()
    assert [sample.fault for sample in samples if sample.fault] == []
    assert {sample.kind for sample in samples} >= {
        "Booking", "Booking page with times", "Diary, changed since", "Diary, unchanged",
        "Diary: a day", "Diary: a visit's panel", "Follow-up list", "Marking as arrived",
        "Messages",
        "Panel of a patient's page", "Patient's page: desk", "Search, as it is typed",
        "Start page: desk", "Start page: owner", "Start page: tablet", "Tablet: a point",
        "Times that fit", "Waiting list",
    }  # fmt: skip
    assert Appointment.objects.count() == booked + 1
    assert InjectionEntry.objects.filter(session__signed_at=None).count() == 1


def test_the_day_is_full_and_reviews_wait(clinic):
    today = Appointment.objects.filter(starts_at__date=NOW.date())
    assert today.count() == SMALL.visits_a_day == 50
    states = set(today.values_list("state", flat=True))
    assert states >= {AppointmentState.DONE, AppointmentState.IN_ROOM, AppointmentState.BOOKED}
    assert HeldCell.objects.filter(appointment__in=today).exists()
    waiting = Review.objects.still_open()
    assert waiting.filter(due_on__lt=NOW.date()).exists()
    assert waiting.filter(due_on__gte=NOW.date(), appointment__isnull=False).exists()
    assert Message.objects.waiting().exists()


def test_the_whole_clinic_has_200_visits_a_day():
    assert Size().visits_a_day == 200


def test_each_kind_has_a_line_in_time_and_one_to_the_empty_view():
    samples = [
        Sample("Search", 1.0, 0.02, 0.002, ""),
        Sample("Search", 2.0, 0.04, 0.002, ""),
        Sample("Search", 3.0, 9.00, 0.002, "POST /search/live/ answered 500"),
    ]
    times, ratios, faults = bench.lines(samples)
    assert (times.what, times.median, times.p95, times.goal) == ("Search", 30, 40, 150)
    assert (ratios.median, ratios.highest) == (15, 20)
    assert (faults.median, faults.is_met) == (1, False)


def test_orders_arrive_as_they_were_given():
    clinic = Clinic("2026-12-01", [(1, "Ada Alder")], [2, 3])
    who = Who("desk", "s", 4, 5, arriving=[6], booking_days=[7])
    orders = Orders(8000, 12.5, clinic, [who])
    told = read_orders(json.dumps(asdict(orders)))
    assert (told.port, told.until, told.people) == (8000, 12.5, [who])
    assert [tuple(one) for one in told.clinic.patients] == clinic.patients


def test_nobody_presses_anything_after_the_time():
    class Pressing(Desk):
        thinks = (0.0, 0.0)

        def presses(self) -> Presses:
            while True:
                self.browser.get("Empty", "/")
                yield

    line = lambda *_: Answer(200, "")  # noqa: E731
    person = Pressing(Who("desk", "", 1, 1), Clinic("2026-12-01", [], []), Browser([line], ""))
    assert len(work(person, until=0)) == 1


@pytest.mark.parametrize("hour", range(24))
def test_it_is_ten_by_the_clocks_of_the_served_clinic(hour):
    now = datetime(2026, 12, 1, hour, 59, tzinfo=UTC)
    local = now.astimezone(ZoneInfo(where_it_is_morning(now)))
    assert local.hour == 10
    assert abs(local.utcoffset()) <= timedelta(hours=14)

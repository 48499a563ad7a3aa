"""A clinic that sends messages, on a Tuesday morning in December, and patients it may write to."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine

from clinic.policy.models import ClinicPolicy
from records.reminders.models import Message, ReminderPolicy
from records.reminders.routes import loading
from records.reminders.services.owning import save_reminder_policy
from records.reminders.services.reconciling import reconcile
from records.reminders.services.sending import send_due
from tests.factories import make_appointment, make_patient

TUESDAY = datetime(2026, 12, 1, 10, tzinfo=UTC)  # no summer time: the clock in London says ten, too


class Outbox:
    """A provider of text messages of the tests: what it got, and what it answers instead."""

    def __init__(self) -> None:
        self.sent: dict[str, tuple[str, str]] = {}
        self.answers: list[Exception] = []
        self.knows = True

    def send(self, *, to: str, text: str, reference: str) -> None:
        if self.answers:
            raise self.answers.pop(0)
        assert reference not in self.sent, "sent twice"
        self.sent[reference] = (to, text)

    def was_sent(self, reference: str) -> bool | None:
        return reference in self.sent if self.knows else None

    @property
    def texts(self) -> list[str]:
        return [text for _, text in self.sent.values()]


@pytest.fixture
def outbox(monkeypatch):
    box = Outbox()
    monkeypatch.setattr(loading, "_made", lambda path: box)
    return box


@pytest.fixture
def clock():
    """`clock.shift(timedelta)` and `clock.move_to(moment)`; it stands still in between."""
    with time_machine.travel(TUESDAY, tick=False) as traveller:
        yield traveller


@pytest.fixture
def policy(db):
    return ClinicPolicy.objects.create(
        name="Larkstone Face Clinic", address="4 Example Lane\nLarkstone LK1 0ZZ",
        phone="020 7946 0123", email="hello@larkstone.example",
    )  # fmt: skip


@pytest.fixture
def sending(policy, owner, clock, outbox):
    """Messages are on."""
    return save_reminder_policy(policy=ReminderPolicy(is_on=True), actor=owner)


@pytest.fixture
def texter(desk):
    """Prefers text messages, and agreed to both ways."""
    return make_patient(
        desk, phone="07700 900123", email="ann@mail.example", preferred_channel="sms",
        agrees_to_sms=True, agrees_to_email=True,
    )  # fmt: skip


@pytest.fixture
def emailed(desk):
    return make_patient(
        desk, "Zoë Ångström", email="zoe@mail.example", preferred_channel="email",
        agrees_to_email=True,
    )  # fmt: skip


@pytest.fixture
def book(desk, injector):
    """`book(patient, "2026-12-04 10:30")`."""
    return lambda patient, start, **fields: make_appointment(
        desk, patient, injector, start, **fields
    )


@pytest.fixture
def tick():
    """What the worker does each minute."""

    def look() -> None:
        reconcile()
        send_due()

    return look


def states() -> list[tuple[str, str]]:
    """Kind and state of every message, in the order in which they were written."""
    return list(Message.objects.order_by("pk").values_list("kind", "state"))


def move(appointment, start: datetime | timedelta) -> None:
    """Give an appointment another time, by whatever way."""
    if isinstance(start, timedelta):
        start = appointment.starts_at + start
    appointment.starts_at = start
    appointment.save(update_fields=["starts_at"])

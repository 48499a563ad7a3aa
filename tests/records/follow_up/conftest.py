"""People, and one of each thing that the list gathers."""

from datetime import timedelta

import pytest
from django.utils import timezone

from records.reminders.enums import AnswerKind, MessageKind, MessageState
from records.reminders.models import Answer, Message, ReminderPolicy
from records.reminders.services.answering import answer_by
from records.reminders.services.writing import key_of, new_message
from tests.factories import (
    make_appointment,
    make_patient,
    make_product,
    make_review,
    make_units,
)
from tests.records.recalls.cases import make_case, span, treat

TODAY = timezone.localdate()
PHONE = "020 7946 0101"


@pytest.fixture
def patient(desk):
    return make_patient(desk, "Ann Example", phone=PHONE)


@pytest.fixture
def review(injector, patient):
    """Overdue since yesterday."""
    return make_review(injector, patient, TODAY - timedelta(days=8))


@pytest.fixture
def make_untold(desk, injector, owner):
    """Somebody of an open recall who was not told yet."""

    def make(**fields):
        unit = make_units(owner, make_product())[0]
        treated = make_patient(desk, "Ben Example", phone="020 7946 0102")
        treat(injector, treated, unit)
        return make_case(owner, span(unit.lot.product, unit.lot.number), **fields).people.get()

    return make


@pytest.fixture
def messages_on(db):
    ReminderPolicy.objects.create(is_on=True)


@pytest.fixture
def came_back(desk, injector):
    """`came_back("Ann Example")`: a confirmation that could not be delivered."""

    def make(name: str, days: int = 3, hour: int = 10) -> Message:
        patient = make_patient(desk, name, phone=PHONE)
        day = TODAY + timedelta(days=days)
        visit = make_appointment(desk, patient, injector, f"{day} {hour}:00")
        return make_message(visit, state=MessageState.UNDELIVERABLE)

    return make


def make_message(
    visit, *, state=MessageState.SENT, kind=MessageKind.CONFIRMATION, **fields
) -> Message:
    message = new_message(
        key=key_of(visit, kind, after=Message.objects.count()), kind=kind,
        patient_id=visit.patient_id, due_at=timezone.now(), until=visit.starts_at,
        state=state, appointment=visit,
    )  # fmt: skip
    message.at, message.route, message.recipient = timezone.now(), "sms", "+447700900123"
    message.problem = "No such number."
    for name, value in fields.items():
        setattr(message, name, value)
    message.save()
    return message


def make_answer(visit, kind=AnswerKind.CHANGE, note="") -> Answer:
    """By the link of a message about the visit."""
    message = Message.objects.filter(appointment=visit).first() or make_message(visit)
    return answer_by(message=message, kind=kind, note=note)


@pytest.fixture
def untold(make_untold):
    return make_untold()

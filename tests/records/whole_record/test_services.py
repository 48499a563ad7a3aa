"""A whole record is asked for with a reason, made once by the worker, and handed out."""

import hashlib
import json
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.audit.queries import verify_chain
from records.whole_record import services
from records.whole_record.enums import Purpose, State
from records.whole_record.errors import WholeRecordError
from records.whole_record.models import GIVEN_UP_AFTER, MOST_TRIES, WholeRecord
from records.whole_record.services import ask_for, hand_out, make, make_waiting, next_to_make
from tests.factories import refreshed

pytestmark = pytest.mark.django_db


@pytest.fixture
def printer(monkeypatch):
    """Counts how often one is rendered; in place of WeasyPrint, so that it is quick."""
    made = []

    def render(content) -> bytes:
        made.append(content)
        return b"%PDF-1.7 " + str(len(made)).encode()

    monkeypatch.setattr(services, "render", render)
    return made


@pytest.fixture
def broken(monkeypatch):
    def render(content) -> bytes:
        raise OSError("no fonts")

    monkeypatch.setattr(services, "render", render)


def events() -> list[AuditEvent]:
    return list(AuditEvent.objects.filter(action__startswith="whole_record.").order_by("id"))


def test_the_worker_makes_it_once_and_its_digest_is_in_the_trail(asked, injector, owner, printer):
    assert asked.state is State.WAITING
    make_waiting()
    make_waiting()
    record = WholeRecord.objects.get()
    assert len(printer) == 1
    assert record.state is State.MADE
    assert record.digest == hashlib.sha256(bytes(record.pdf)).hexdigest()
    assert hand_out(record=record, actor=owner) == bytes(record.pdf)
    was_asked, made, handed = events()
    assert json.loads(was_asked.data)["after"] == {
        "purpose": "patient", "recipient": "Ann Example", "note": "",
    }  # fmt: skip
    assert (was_asked.actor, made.actor, handed.actor) == (injector, None, owner)
    for event in (made, handed):
        assert json.loads(event.data)["after"] == {"digest": record.digest}
        assert event.patient_id == asked.patient_id
    assert verify_chain().intact


def test_nobody_asks_without_saying_who_gets_it(patient, injector):
    with pytest.raises(WholeRecordError, match="who gets"):
        ask_for(
            record=WholeRecord(patient=patient, purpose=Purpose.CLINIC, recipient="  "),
            actor=injector,
        )
    assert not WholeRecord.objects.exists()


def test_it_cannot_be_handed_out_before_it_is_made(asked, owner):
    with pytest.raises(WholeRecordError, match="still being made"):
        hand_out(record=asked, actor=owner)
    assert [event.action for event in events()] == ["whole_record.asked"]


def test_what_another_worker_took_up_is_left_to_it_until_that_one_is_long_over(asked):
    now = timezone.now()
    assert next_to_make(now) == asked
    assert next_to_make(now + timedelta(minutes=1)) is None
    assert next_to_make(now + GIVEN_UP_AFTER + timedelta(seconds=1)) == asked


def test_of_two_that_make_the_same_one_the_first_counts(asked, printer):
    first, second = next_to_make(), refreshed(asked)
    make(first)
    make(second)
    assert bytes(WholeRecord.objects.get().pdf) == b"%PDF-1.7 1"
    assert [event.action for event in events()] == ["whole_record.asked", "whole_record.made"]


def test_after_three_failures_it_is_given_up_and_says_so(asked, broken):
    for number in range(MOST_TRIES):
        assert refreshed(asked).state is State.WAITING, number
        with pytest.raises(OSError, match="no fonts"):
            make_waiting()
    assert refreshed(asked).state is State.FAILED
    make_waiting()
    assert refreshed(asked).tries == MOST_TRIES


def test_one_that_fails_does_not_keep_the_next_back(asked, owner, broken, monkeypatch):
    with pytest.raises(OSError, match="no fonts"):
        make_waiting()
    after = ask_for(
        record=WholeRecord(patient=asked.patient, purpose=Purpose.LEGAL, recipient="A court"),
        actor=owner,
    )
    assert next_to_make() == after


# --- going round the services ---


@pytest.mark.parametrize(
    "change",
    [{"recipient": "Somebody else"}, {"purpose": "legal"}, {"note": "x"}, {"asked_at": None}],
    ids=lambda change: next(iter(change)),
)
def test_what_was_asked_stays(asked, change):
    change = {name: value or timezone.now() for name, value in change.items()}
    with pytest.raises(IntegrityError, match="stays as it was"), transaction.atomic():
        WholeRecord.objects.update(**change)


def test_what_was_made_stays(asked, printer):
    make_waiting()
    with pytest.raises(IntegrityError, match="made once"), transaction.atomic():
        WholeRecord.objects.update(pdf=b"other")
    records = WholeRecord.objects.all()
    with pytest.raises(IntegrityError, match="stays on record"), transaction.atomic():
        records._raw_delete(records.db)


@pytest.mark.parametrize(
    ("rule", "fields"),
    [
        ("whole_record_says_to_whom", {"recipient": ""}),
        ("whole_record_purpose_is_known", {"purpose": "curiosity"}),
        ("whole_record_made_with_its_digest", {"digest": "0" * 64}),
    ],
)
def test_the_database_refuses_what_the_form_refuses(patient, injector, rule, fields):
    fields = {"purpose": "patient", "recipient": "Ann", **fields}
    record = WholeRecord(patient=patient, asked_at=timezone.now(), asked_by=injector, **fields)
    with pytest.raises(IntegrityError, match=rule), transaction.atomic():
        record.save()

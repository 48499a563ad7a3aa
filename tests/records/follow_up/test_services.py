"""Noting a try to reach a patient, and what the database itself holds about it."""

import json
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.audit.models import AuditEvent
from planning.follow_up import TryOutcome, Way
from records.adverse_events.enums import EventOutcome
from records.adverse_events.services import close_event
from records.follow_up.errors import AttemptRefused
from records.follow_up.models import ContactAttempt
from records.follow_up.services import note_attempt
from tests.factories import make_event, make_patient, make_review
from tests.records.follow_up.conftest import PHONE, TODAY

pytestmark = pytest.mark.django_db


def refused(**fields) -> None:
    fields = {"way": "phone", "outcome": "reached", "at": timezone.now(), **fields}
    with pytest.raises(IntegrityError), transaction.atomic():
        ContactAttempt.objects.create(**fields)


def test_a_try_keeps_the_number_and_is_in_the_trail(desk, review):
    again = timezone.now() + timedelta(hours=2)
    attempt = note_attempt(
        about=review, way=Way.PHONE, outcome=TryOutcome.LATER, again_at=again, note=" At work ",
        actor=desk,
    )  # fmt: skip
    assert (attempt.used, attempt.note, str(attempt)) == (
        PHONE, "At work", "Phone: to be called later",
    )  # fmt: skip
    event = AuditEvent.objects.get(action="review.attempt_noted")
    assert (event.actor, event.patient_id) == (desk, review.patient_id)
    assert json.loads(event.data)["after"]["note"] == "At work"


@pytest.mark.parametrize(
    ("way", "used"), [("email", "ann@example.org"), ("letter", "1 Quiet Lane"), ("sms", PHONE)]
)
def test_each_way_keeps_what_was_tried(desk, injector, way, used):
    patient = make_patient(
        desk, "Ann Example", phone=PHONE, email="ann@example.org", address="1 Quiet Lane"
    )
    review = make_review(injector, patient, TODAY)
    attempt = note_attempt(about=review, way=Way(way), outcome=TryOutcome.MESSAGE_LEFT, actor=desk)
    assert attempt.used == used


def test_nobody_is_called_about_a_closed_event(desk, injector, patient):
    event = make_event(injector, patient)
    note_attempt(about=event, way=Way.PHONE, outcome=TryOutcome.NO_ANSWER, actor=desk)
    close_event(event=event, outcome=EventOutcome.RECOVERED, actor=injector)
    with pytest.raises(AttemptRefused, match="closed meanwhile"):
        note_attempt(about=event, way=Way.PHONE, outcome=TryOutcome.REACHED, actor=desk)
    assert event.attempts.count() == 1


def test_a_try_is_about_one_thing_and_its_words_are_known(desk, injector, patient, review):
    event = make_event(injector, patient)
    refused(by=desk)
    refused(by=desk, review=review, event=event)
    refused(by=desk, review=review, way="pigeon")
    refused(by=desk, review=review, outcome="shrugged")
    refused(by=desk, review=review, outcome="no_answer", way="letter")
    refused(by=desk, review=review, outcome="later")
    refused(by=desk, review=review, again_at=timezone.now())


def test_a_try_stays_as_it_was_noted(desk, review):
    attempt = note_attempt(about=review, way=Way.PHONE, outcome=TryOutcome.REACHED, actor=desk)
    stored = ContactAttempt.objects.filter(pk=attempt.pk)
    for act in (lambda: stored.update(note="Other"), stored.delete):
        with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
            act()

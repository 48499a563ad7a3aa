"""What was sent and answered stays, whatever path a change comes by."""

import pytest
from django.db import IntegrityError, transaction

from records.patients.models import ContactConsent
from records.patients.services import save_patient
from records.reminders.enums import AnswerKind
from records.reminders.models import Answer, Message
from records.reminders.services.answering import answer_by
from tests.factories import make_appointment, make_message


@pytest.fixture
def message(desk, injector, patient):
    visit = make_appointment(desk, patient, injector, "2030-12-10 10:30")
    return make_message(visit, state="sent")


@pytest.fixture
def answer(message):
    return answer_by(message=message, kind=AnswerKind.COMES)


def refused(act) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        act()


@pytest.mark.parametrize(
    "change", [{"text": "Other"}, {"state": "waiting"}, {"recipient": "x"}, {"route": "email"}]
)
def test_a_sent_message_stays_as_it_was_sent(message, change):
    refused(lambda: Message.objects.filter(pk=message.pk).update(**change))


@pytest.mark.parametrize("change", [{"kind": "cannot"}, {"note": "Other"}])
def test_an_answer_stays_as_it_was_given(answer, change):
    refused(lambda: Answer.objects.filter(pk=answer.pk).update(**change))


@pytest.mark.parametrize("model", [Answer, Message])
def test_neither_is_deleted(answer, model):
    refused(lambda: model.objects.all()._raw_delete("default"))


@pytest.mark.parametrize(
    "change",
    [
        {"kind": "gossip"},
        {"state": "lost"},
        {"state": "sending", "at": None},
        {"state": "unsure", "recipient": ""},
        {"state": "settled"},
    ],
)
def test_a_message_that_cannot_be_is_refused(message, change):
    waiting = make_message(message.appointment, key="another", state="waiting")
    refused(lambda: Message.objects.filter(pk=waiting.pk).update(**change))


def test_an_answer_of_no_kind_is_refused(answer):
    refused(lambda: Answer.objects.create(
        message=answer.message, appointment=answer.appointment, starts_at=answer.starts_at,
        kind="maybe", at=answer.at,
    ))  # fmt: skip


def test_the_same_news_is_written_once(message):
    refused(lambda: make_message(message.appointment))


def test_who_asked_for_consent_and_when_stays(desk, patient):
    patient.agrees_to_sms = True
    save_patient(patient=patient, actor=desk)
    patient.agrees_to_sms = False
    save_patient(patient=patient, actor=desk)
    rows = ContactConsent.objects.order_by("pk").values_list("channel", "agreed", "asked_by")
    assert list(rows) == [("sms", True, desk.pk), ("sms", False, desk.pk)]
    refused(lambda: ContactConsent.objects.update(agreed=True))
    refused(lambda: ContactConsent.objects.create(
        patient=patient, channel="letter", agreed=True, asked_at="2026-12-01T10:00Z",
        asked_by=desk,
    ))  # fmt: skip

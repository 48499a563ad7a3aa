"""What the database refuses, whatever path it is tried by."""

import pytest
from django.db import DatabaseError, transaction

from records.mailings.enums import MailingState
from records.mailings.models import MailingItem
from records.mailings.services.steps import write_next
from tests.factories import make_letter_file, make_mailing

pytestmark = pytest.mark.usefixtures("policy", "printed")


def refused(message: str):
    return pytest.raises(DatabaseError, match=message)


@pytest.mark.parametrize("field", ["channel", "purpose", "subject", "body"])
def test_a_mailing_keeps_the_text_it_was_started_with(owner, people, field):
    mailing = make_mailing(owner, people)
    value = "email" if field == "channel" else "Another"
    with refused("keeps the text it was started with"), transaction.atomic():
        type(mailing).objects.filter(pk=mailing.pk).update(**{field: value})


def test_a_rehearsal_does_not_become_earnest(owner, people):
    mailing = make_mailing(owner, people, is_rehearsal=True)
    with refused("keeps the text"), transaction.atomic():
        type(mailing).objects.filter(pk=mailing.pk).update(is_rehearsal=False)


@pytest.mark.parametrize("state", [MailingState.SENDING, MailingState.SENT])
def test_nothing_of_a_rehearsal_is_sent(owner, people, state):
    mailing = make_mailing(owner, people, channel="email", is_rehearsal=True)
    with refused("nothing of a rehearsal is sent"), transaction.atomic():
        mailing.items.update(state=state)
    item = mailing.items.last()
    late = MailingItem(mailing=mailing, patient=item.patient, position=9, state=state)
    with refused("nothing of a rehearsal is sent"), transaction.atomic():
        late.save()


@pytest.mark.parametrize("state", [MailingState.WAITING, MailingState.SENDING])
def test_what_was_written_never_waits_again(owner, people, state):
    mailing = make_mailing(owner, people)
    write_next(mailing=mailing, actor=owner)
    with refused("not written or sent again"), transaction.atomic():
        mailing.items.update(state=state)


def test_an_item_stays_its_patient_s(owner, people):
    mailing = make_mailing(owner, people[:1])
    with refused("stays its patient"), transaction.atomic():
        mailing.items.update(patient=people[1])


@pytest.mark.parametrize("what", ["item", "mailing"])
def test_nothing_is_deleted(owner, people, what):
    mailing = make_mailing(owner, people)
    rows = mailing.items.all() if what == "item" else type(mailing).objects.all()
    with refused("stays in the books"), transaction.atomic():
        rows._raw_delete(rows.db)


@pytest.mark.parametrize("act", ["update", "delete"])
def test_a_file_of_letters_only_grows(owner, people, act):
    files = type(make_letter_file(make_mailing(owner, people))).objects.all()
    with refused("append-only"), transaction.atomic():
        files.update(pdf=b"other") if act == "update" else files._raw_delete(files.db)


def test_a_patient_is_once_in_a_mailing_and_a_file_has_its_own_number(owner, people):
    mailing = make_mailing(owner, people)
    make_letter_file(mailing)
    again = MailingItem(mailing=mailing, patient=mailing.items.last().patient, position=9)
    with refused("(?i)unique"), transaction.atomic():
        again.save()
    with refused("(?i)unique"), transaction.atomic():
        make_letter_file(mailing)


def test_unknown_words_are_refused(owner, people):
    mailing = make_mailing(owner, people)
    with refused("mailing_state_is_known"), transaction.atomic():
        mailing.items.update(state="lost")
    mailing.pk, mailing.channel = None, "pigeon"
    with refused("mailing_channel_is_known"), transaction.atomic():
        mailing.save(force_insert=True)

"""Whoever starts a mailing gives people and words; who has no address is left out and listed."""

import json

import pytest

from clinic.audit.models import AuditEvent
from records.mailings.enums import MailingState
from records.mailings.errors import MailingError, NoSender
from records.mailings.models import Mailing
from records.mailings.queries import progress
from records.mailings.services import starting
from tests.factories import make_mailing, make_patient

pytestmark = pytest.mark.usefixtures("policy")


def test_everybody_waits_in_the_order_given(owner, people):
    mailing = make_mailing(owner, people)
    assert list(mailing.items.values_list("patient", "position", "batch", "state")) == [
        (patient.pk, number, 1, "waiting") for number, patient in enumerate(people, start=1)
    ]


def test_letters_are_dealt_into_files(owner, people, desk, monkeypatch):
    """Those without an address take no place in a file."""
    monkeypatch.setattr(starting, "LETTERS_IN_A_FILE", 2)
    monkeypatch.setattr(starting, "ROWS_AT_ONCE", 2)
    nowhere = make_patient(desk, "No Address", address="  \n ")
    mailing = make_mailing(owner, [people[0], nowhere, *people[1:]])
    assert list(mailing.items.values_list("batch", flat=True)) == [1, None, 1, 2]


@pytest.mark.parametrize(
    ("channel", "reason"),
    [("letter", "No postal address is noted."), ("email", "No e-mail address is noted.")],
)
def test_who_has_no_address_is_left_out_with_the_reason(owner, people, desk, channel, reason):
    nowhere = make_patient(desk, "No Address")
    mailing = make_mailing(owner, [*people, nowhere], channel=channel)
    item = mailing.items.get(patient=nowhere)
    assert (item.state, item.problem) == (MailingState.LEFT_OUT, reason)
    stands = progress(mailing)
    assert (stands.to_do, stands.left_out, stands.is_at_end) == (3, 1, False)


def test_the_start_is_in_the_audit_trail(owner, people, desk):
    mailing = make_mailing(owner, [*people, make_patient(desk, "No Address")])
    event = AuditEvent.objects.get(action="mailing.started")
    assert (event.actor, event.subject_id) == (owner, str(mailing.pk))
    assert json.loads(event.data)["after"] == {
        "channel": "letter", "purpose": "Recall R000001", "is_rehearsal": False,
        "people": 4, "left_out": 1,
    }  # fmt: skip


def test_nobody_is_refused(owner):
    with pytest.raises(MailingError, match="Nobody is on the list"):
        make_mailing(owner, [])
    assert not Mailing.objects.exists()


def test_somebody_twice_is_refused(owner, people):
    with pytest.raises(MailingError, match=f"{people[0].record_number} is on the list twice"):
        make_mailing(owner, [*people, people[0]])
    assert not Mailing.objects.exists()


def test_a_word_that_nobody_gave_is_named(owner, people):
    with pytest.raises(MailingError, match=r"there is no word for \{lot\}"):
        make_mailing(owner, people, body="Lot {lot} of {name}", words={"product": "Filler"})
    assert not Mailing.objects.exists()


def test_a_subject_that_names_the_patient_is_refused(owner, people):
    with pytest.raises(MailingError, match="everybody on the way can read a subject"):
        make_mailing(owner, people, subject="About {name}")


def test_e_mails_need_a_sender(owner, people, policy):
    policy.email = ""
    policy.save()
    with pytest.raises(NoSender, match="Enter one under Policy"):
        make_mailing(owner, people, channel="email")
    make_mailing(owner, people)


def test_a_text_that_gives_the_telephone_needs_one(owner, people, policy):
    policy.phone = ""
    policy.save()
    with pytest.raises(MailingError, match="telephone: enter one under Policy"):
        make_mailing(owner, people, body="Call {phone}")


@pytest.mark.parametrize("count", [1, 3])
def test_statements_do_not_grow_with_the_list(owner, people, count, django_assert_max_num_queries):
    with django_assert_max_num_queries(12):
        make_mailing(owner, people[:count])

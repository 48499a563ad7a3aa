"""E-mails leave once or wait for a person; nothing of a patient is in a subject or a log."""

import json
from datetime import timedelta
from smtplib import SMTPRecipientsRefused, SMTPResponseException, SMTPServerDisconnected

import pytest
from django.core import mail
from django.core.mail.backends import locmem
from django.utils import timezone

from clinic.audit.models import AuditEvent
from records.mailings.errors import MailingError, MailServerDown, NoSender
from records.mailings.models import MailingItem
from records.mailings.queries import UNCLEAR_AFTER, is_unclear, items_to_look_at, progress
from records.mailings.services import emails, steps
from records.mailings.services.deciding import take_as_sent, try_again, try_failed_again
from records.mailings.services.steps import write_next
from tests.factories import make_mailing, refreshed

pytestmark = pytest.mark.usefixtures("policy", "leaving")


@pytest.fixture
def mailing(owner, people):
    return make_mailing(
        owner, people, channel="email", subject="Please call {clinic}",
        body="Dear {name},\n\nlot {lot}.", words={"lot": "7741"},
    )  # fmt: skip


@pytest.fixture
def server(monkeypatch):
    """What the mail server says to each address; anything else is accepted."""
    says: dict[str, Exception] = {}
    send = locmem.EmailBackend.send_messages

    def answer(self, messages):
        for message in messages:
            if error := says.get(message.to[0]):
                raise error
        return send(self, messages)

    monkeypatch.setattr(locmem.EmailBackend, "send_messages", answer)
    return says


def states(mailing) -> list[str]:
    return list(mailing.items.values_list("state", flat=True))


def cut_off(mailing) -> MailingItem:
    """The first e-mail, being sent since yesterday."""
    item = mailing.items.first()
    item.state, item.at = "sending", timezone.now() - timedelta(days=1)
    item.save()
    return item


def test_each_patient_gets_one_from_the_clinic(mailing, owner):
    stands = write_next(mailing=mailing, actor=owner)
    assert (stands.sent, stands.is_at_end) == (3, True)
    assert refreshed(mailing).finished_at is not None
    assert [message.to for message in mail.outbox] == [
        ["p1@mail.example"], ["p2@mail.example"], ["p3@mail.example"]
    ]  # fmt: skip
    first = mail.outbox[0]
    assert first.from_email == "Larkstone Face Clinic <hello@larkstone.example>"
    assert first.body == "Dear Ann Example,\n\nlot 7741."
    assert "عبد الرحمن الفاسي" in mail.outbox[2].body


def test_no_subject_holds_a_word_about_patient_or_product(mailing, owner):
    write_next(mailing=mailing, actor=owner)
    assert {message.subject for message in mail.outbox} == {"Please call Larkstone Face Clinic"}


def test_each_sending_is_in_the_audit_trail_of_its_patient(mailing, owner, people):
    write_next(mailing=mailing, actor=owner)
    sent = AuditEvent.objects.filter(action="mailing.sent").order_by("id")
    assert [(event.actor, event.patient_id) for event in sent] == [
        (owner, patient.pk) for patient in people
    ]


def test_a_step_ends_when_its_time_is_over(mailing, owner, monkeypatch):
    monkeypatch.setattr(steps, "STEP_SECONDS", 0)
    assert write_next(mailing=mailing, actor=owner).waiting == 2
    assert write_next(mailing=mailing, actor=owner).waiting == 1


def test_it_is_marked_before_it_leaves(mailing, owner, monkeypatch):
    seen = []
    send = emails.EmailMessage.send
    monkeypatch.setattr(
        emails.EmailMessage, "send", lambda self: (seen.append(states(mailing)), send(self))
    )
    write_next(mailing=mailing, actor=owner)
    assert seen[0] == ["sending", "waiting", "waiting"]
    assert seen[2] == ["sent", "sent", "sending"]


@pytest.mark.parametrize(
    ("error", "told"),
    [
        (
            SMTPRecipientsRefused({"p2@mail.example": (550, b"no such box")}),
            "The mail server refused the address: 550 no such box",
        ),
        (SMTPResponseException(552, b"too large"), "The mail server refused it: 552 too large"),
        (ValueError("bad header"), "bad header"),
    ],
)
def test_a_refused_one_has_failed_with_the_reason_and_the_others_go_on(
    mailing, owner, people, server, error, told
):
    server["p2@mail.example"] = error
    stands = write_next(mailing=mailing, actor=owner)
    assert states(mailing) == ["sent", "failed", "sent"]
    assert (stands.is_at_end, stands.failed) == (True, 1)
    (item,) = items_to_look_at(mailing)
    assert (item.patient, item.problem) == (people[1], told)
    event = AuditEvent.objects.get(action="mailing.failed")
    assert (event.patient_id, json.loads(event.data)["reason"]) == (people[1].pk, told)


@pytest.mark.parametrize("error", [SMTPServerDisconnected("gone"), TimeoutError("too long")])
def test_a_line_that_breaks_leaves_that_one_marked_and_stops(mailing, owner, server, error):
    server["p2@mail.example"] = error
    with pytest.raises(MailServerDown):
        write_next(mailing=mailing, actor=owner)
    assert states(mailing) == ["sent", "sending", "waiting"]
    assert not is_unclear(mailing.items.get(state="sending"))  # it may still be under way
    server.clear()
    write_next(mailing=mailing, actor=owner)
    assert states(mailing) == ["sent", "sending", "sent"]
    assert refreshed(mailing).finished_at is None


def test_a_server_that_is_closing_down_refuses_one_and_stops(mailing, owner, server):
    """RFC 5321, 4.2.3: after 421 the connection is closed."""
    server["p1@mail.example"] = SMTPResponseException(421, b"closing")
    with pytest.raises(MailServerDown, match="421 closing"):
        write_next(mailing=mailing, actor=owner)
    assert states(mailing) == ["failed", "waiting", "waiting"]


def test_a_server_that_is_rude_at_parting_changes_nothing(mailing, owner, monkeypatch):
    def rude(self):
        raise SMTPServerDisconnected("no goodbye")

    monkeypatch.setattr(locmem.EmailBackend, "close", rude)
    assert write_next(mailing=mailing, actor=owner).sent == 3


def test_a_server_that_cannot_be_reached_marks_nothing(mailing, owner, monkeypatch):
    def refuse(self):
        raise ConnectionRefusedError("nobody listens")

    monkeypatch.setattr(locmem.EmailBackend, "open", refuse)
    with pytest.raises(MailServerDown, match="nobody listens"):
        write_next(mailing=mailing, actor=owner)
    assert states(mailing) == ["waiting"] * 3


def test_without_the_clinic_s_address_nothing_is_marked(mailing, owner, policy):
    policy.email = ""
    policy.save()
    with pytest.raises(NoSender):
        write_next(mailing=mailing, actor=owner)
    assert states(mailing) == ["waiting"] * 3


def test_an_address_that_has_gone_since_is_left_out(mailing, owner, people):
    people[0].email = ""
    people[0].save()
    write_next(mailing=mailing, actor=owner)
    assert states(mailing) == ["left_out", "sent", "sent"]


def test_what_is_over_is_not_sent_on(mailing, owner, only_occasion):
    only_occasion(refusal=lambda mailing: "It is over." if mail.outbox else "")
    with pytest.raises(MailingError, match="It is over"):
        write_next(mailing=mailing, actor=owner)
    assert states(mailing) == ["sent", "waiting", "waiting"]


def test_nothing_of_a_rehearsal_is_sent(owner, people):
    mailing = make_mailing(owner, people, channel="email", is_rehearsal=True)
    assert write_next(mailing=mailing, actor=owner).written == 3
    assert mail.outbox == []


def test_where_e_mails_become_files_nobody_counts_as_written_to(mailing, owner, settings):
    settings.EMAIL_LEAVES = False
    stands = write_next(mailing=mailing, actor=owner)
    assert (stands.written, stands.sent) == (3, 0)


def test_nothing_of_it_is_logged(mailing, owner, server, caplog):
    server["p2@mail.example"] = SMTPResponseException(550, b"Zoe")
    with caplog.at_level("DEBUG"):
        write_next(mailing=mailing, actor=owner)
    told = " ".join(record.getMessage() for record in caplog.records)
    assert "mail.example" not in told
    assert "Example" not in told


# --- what a person decides ---


def test_an_unclear_one_is_never_sent_by_itself_and_a_person_sends_it_again(mailing, owner):
    item = cut_off(mailing)
    stands = write_next(mailing=mailing, actor=owner)
    assert (stands.unclear, stands.sent, stands.is_at_end) == (1, 2, True)
    try_again(item=item, actor=owner)
    assert refreshed(item).state == "waiting"
    assert write_next(mailing=mailing, actor=owner).sent == 3
    assert refreshed(mailing).finished_at is not None


def test_a_person_found_out_that_it_had_left(mailing, owner, people):
    item = cut_off(mailing)
    take_as_sent(item=item, actor=owner)
    assert refreshed(item).state == "sent"
    write_next(mailing=mailing, actor=owner)
    assert len(mail.outbox) == 2
    event = AuditEvent.objects.filter(action="mailing.sent").earliest("id")
    assert event.patient_id == people[0].pk


def test_a_failed_one_is_tried_again_by_a_person(mailing, owner, server):
    server["p1@mail.example"] = SMTPResponseException(451, b"later")
    write_next(mailing=mailing, actor=owner)
    server.clear()
    item = mailing.items.get(state="failed")
    with pytest.raises(MailingError, match="was not sent"):
        take_as_sent(item=item, actor=owner)
    try_again(item=item, actor=owner)
    assert refreshed(mailing).finished_at is None
    assert write_next(mailing=mailing, actor=owner).sent == 3


def test_all_that_failed_are_tried_again_at_once(mailing, owner, server):
    for address in ("p1@mail.example", "p2@mail.example"):
        server[address] = SMTPResponseException(451, b"later")
    write_next(mailing=mailing, actor=owner)
    server.clear()
    assert try_failed_again(mailing=mailing, actor=owner) == 2
    assert AuditEvent.objects.filter(action="mailing.try_again").count() == 2
    assert write_next(mailing=mailing, actor=owner).sent == 3
    assert try_failed_again(mailing=mailing, actor=owner) == 0


@pytest.mark.parametrize("decide", [try_again, take_as_sent])
@pytest.mark.parametrize("age", [timedelta(), UNCLEAR_AFTER - timedelta(seconds=30)])
def test_one_that_may_still_be_under_way_is_not_decided_on(mailing, owner, decide, age):
    item = mailing.items.first()
    item.state, item.at = "sending", timezone.now() - age
    item.save()
    with pytest.raises(MailingError, match="nothing to decide here any more: being sent"):
        decide(item=item, actor=owner)
    assert progress(mailing).unclear == 0


def test_one_that_left_after_all_while_a_person_decided_is_sent(mailing, owner, monkeypatch):
    """It took the server so long that a person had it wait again, and then it said yes."""
    send = emails.EmailMessage.send

    def slowly(self):
        cut_off(mailing)
        try_again(item=mailing.items.first(), actor=owner)
        monkeypatch.setattr(emails.EmailMessage, "send", send)
        return send(self)

    monkeypatch.setattr(emails.EmailMessage, "send", slowly)
    assert write_next(mailing=mailing, actor=owner).sent == 3
    assert len(mail.outbox) == 3


def test_one_that_failed_after_a_person_decided_waits_as_decided(mailing, owner, monkeypatch):
    send = emails.EmailMessage.send

    def slowly(self):
        cut_off(mailing)
        try_again(item=mailing.items.first(), actor=owner)
        monkeypatch.setattr(emails.EmailMessage, "send", send)
        raise SMTPResponseException(451, b"later")

    monkeypatch.setattr(emails.EmailMessage, "send", slowly)
    assert write_next(mailing=mailing, actor=owner).sent == 3
    assert not mailing.items.filter(state="failed").exists()

"""Each message goes once, to where the patient agreed to, or comes back to the desk."""

from datetime import UTC, timedelta
from smtplib import SMTPRecipientsRefused, SMTPResponseException, SMTPServerDisconnected

import pytest
from django.core import mail
from django.core.mail.backends import locmem
from django.utils import timezone
from icalendar import Calendar

from clinic.audit.models import AuditEvent
from clinic.background import ticks
from clinic.background.queries import worker_silence
from records.patients.services import save_patient
from records.reminders.enums import MessageKind
from records.reminders.errors import NobodyKnows, NotNow, Refused
from records.reminders.models import Message, MessageTemplate
from records.reminders.queries import reach, text_number, to_settle
from records.reminders.services import sending as sending_service
from records.reminders.services.reconciling import reconcile
from records.reminders.services.sending import send_due
from records.reminders.tokens import token_of
from records.reminders.wording import link_of
from tests.factories import make_patient, refreshed
from tests.records.reminders.conftest import move, states

MINUTE = timedelta(minutes=1)


@pytest.fixture
def message(sending, book, texter):
    """A confirmation that waits."""
    book(texter, "2026-12-10 10:30")
    reconcile()
    return Message.objects.get()


@pytest.fixture
def by_email(sending, book, emailed):
    book(emailed, "2026-12-10 10:30")
    reconcile()
    return Message.objects.get()


@pytest.fixture
def server(monkeypatch):
    """`server(error)`: what the mail server says from now on."""

    def says(error: Exception) -> None:
        def refuse(self, messages):
            raise error

        monkeypatch.setattr(locmem.EmailBackend, "send_messages", refuse)

    return says


def cut_off(message: Message) -> None:
    """It was being sent when the worker was killed, six minutes ago."""
    message.state, message.at = "sending", timezone.now() - 6 * MINUTE
    message.route, message.recipient, message.text = "sms", "+447700900123", "Words"
    message.attempts = 1
    message.save()


def test_a_subject_that_gets_too_long_is_cut_and_holds_nothing_back(by_email, policy):
    words = " ".join(["{clinic}"] * 12)
    MessageTemplate.objects.create(
        kind="confirmation", route="email", subject=words, text="On {day}"
    )
    policy.name = "Larkstone " * 9
    policy.save()
    send_due()
    assert (refreshed(by_email).state, len(mail.outbox)) == ("sent", 1)


def test_a_worker_that_sends_for_long_is_seen_in_between(message, clock, monkeypatch):
    def slowly(*args) -> None:
        clock.shift(6 * MINUTE)

    monkeypatch.setattr(sending_service, "_hand_over", slowly)
    send_due()
    assert worker_silence() is None


def test_what_was_sent_is_kept_as_it_was_but_for_the_link(message, outbox):
    send_due()
    stored, (to, text) = refreshed(message), outbox.sent[message.reference]
    assert (stored.state, stored.route, stored.recipient, to) == (
        "sent", "sms", "+447700900123", "+447700900123",
    )  # fmt: skip
    assert stored.text.endswith("change: {link}")
    assert text == stored.text.replace(
        "{link}", link_of(message.reference, MessageKind.CONFIRMATION)
    )
    assert token_of(message.reference) not in str(Message.objects.values().get())


def test_an_email_names_nobody_and_can_be_told_apart(by_email):
    send_due()
    [email] = mail.outbox
    assert email.to == ["zoe@mail.example"]
    assert email.from_email == "Larkstone Face Clinic <hello@larkstone.example>"
    assert email.subject == "Your visit to Larkstone Face Clinic"
    headers = email.message()
    assert headers["Message-ID"] == f"<{by_email.reference}@larkstone.example>"
    assert headers["Auto-Submitted"] == "auto-generated"
    assert "Zoë" not in email.body
    assert "consultation" not in email.body.lower()
    assert "Thursday 10 December at 10:30" in email.body
    assert "4 Example Lane, Larkstone LK1 0ZZ" in email.body


def test_a_confirmation_brings_the_visit_for_the_calendar(by_email):
    send_due()
    [file] = mail.outbox[0].attachments
    [visit] = Calendar.from_ical(file[1]).walk("VEVENT")
    assert visit.decoded("DTSTART").astimezone(UTC) == by_email.starts_at


def test_the_invitation_says_what_it_is_once(by_email):
    """RFC 6047, 2.4: method and charset are parameters of its type; RFC 2045, 5.1: each once."""
    send_due()
    [part] = [
        part
        for part in mail.outbox[0].message().walk()
        if part.get_content_type() == "text/calendar"
    ]
    names = [name for name, _ in part.get_params()]
    assert sorted(names) == ["charset", "method", "text/calendar"]
    assert (part.get_param("method"), part.get_param("charset")) == ("REQUEST", "utf-8")


def test_a_calendar_file_that_cannot_be_made_sends_nothing_and_is_tried_again(
    by_email, monkeypatch
):
    monkeypatch.setattr(sending_service, "attachments_of", lambda message: 1 / 0)
    send_due()
    assert (refreshed(by_email).state, mail.outbox) == ("waiting", [])


@pytest.mark.parametrize(
    "error",
    [
        SMTPResponseException(451, b"later"),
        SMTPRecipientsRefused({"zoe@mail.example": (450, b"busy")}),
    ],
)
def test_a_mail_server_that_is_busy_is_tried_again(by_email, server, error):
    server(error)
    send_due()
    stored = refreshed(by_email)
    assert (stored.state, stored.attempts) == ("waiting", 1)
    assert stored.next_try_at == timezone.now() + MINUTE


@pytest.mark.parametrize(
    "error",
    [
        SMTPResponseException(550, b"no such box"),
        SMTPRecipientsRefused({"zoe@mail.example": (550, b"gone")}),
    ],
)
def test_an_address_that_is_refused_comes_back_to_the_desk(by_email, server, error):
    server(error)
    send_due()
    assert refreshed(by_email).state == "undeliverable"
    assert [row.verb for row in to_settle()] == ["Send again"]


def test_a_line_that_breaks_leaves_it_unsure(by_email, server):
    server(SMTPServerDisconnected("Connection unexpectedly closed"))
    send_due()
    assert refreshed(by_email).state == "unsure"
    send_due()
    assert [row.verb for row in to_settle()] == ["It was sent"]


def test_pauses_grow_until_it_makes_no_sense_any_more(message, policy, outbox, clock):
    policy.quiet_from = policy.quiet_until
    policy.save()
    outbox.answers = [NotNow("Busy.")] * 100
    waited = []
    while refreshed(message).state == "waiting":
        clock.move_to(message.next_try_at)
        send_due()
        waited.append(refreshed(message).next_try_at - timezone.now())
    assert waited[:5] == [MINUTE, 5 * MINUTE, 30 * MINUTE, 120 * MINUTE, 360 * MINUTE]
    assert (message.state, message.problem) == ("undeliverable", "Busy.")
    assert message.until - timezone.now() <= 360 * MINUTE
    assert outbox.sent == {}


@pytest.mark.parametrize(
    ("error", "state"),
    [
        (Refused("Not a mobile number."), "undeliverable"),
        (NobodyKnows("The line broke."), "unsure"),
        (ZeroDivisionError("a fault of the back end"), "unsure"),
    ],
)
def test_what_a_back_end_says_decides(message, outbox, error, state):
    outbox.answers = [error]
    send_due()
    assert refreshed(message).state == state
    assert "ZeroDivision" not in message.problem


@pytest.mark.parametrize(
    ("went", "knows", "state", "count"),
    [(True, True, "sent", 1), (False, True, "sent", 1), (False, False, "unsure", 0)],
)
def test_one_that_was_cut_off_is_asked_about(message, outbox, went, knows, state, count):
    cut_off(message)
    outbox.knows = knows
    if went:
        outbox.sent[message.reference] = ("+447700900123", "Words")
    send_due()
    send_due()
    assert (refreshed(message).state, len(outbox.sent)) == (state, count)


def test_one_that_is_being_sent_is_left_alone(message, outbox):
    cut_off(message)
    message.at = timezone.now() - 4 * MINUTE
    message.save()
    send_due()
    assert (refreshed(message).state, outbox.sent) == ("sending", {})


def test_a_back_end_that_cannot_be_asked_is_asked_later(message, outbox, monkeypatch):
    cut_off(message)
    monkeypatch.setattr(outbox, "was_sent", lambda reference: 1 / 0)
    send_due()
    assert refreshed(message).state == "sending"


def test_a_visit_that_was_moved_since_is_not_told_of_as_it_was(message, outbox):
    move(message.appointment, timedelta(days=1))
    send_due()
    assert (refreshed(message).state, outbox.sent) == ("withdrawn", {})


def test_a_worker_that_is_to_stop_sends_no_further_one(message, outbox, monkeypatch):
    ticks.stopping.set()
    try:
        send_due()
    finally:
        ticks.stopping.clear()
    assert outbox.sent == {}


def test_each_end_is_in_the_trail_without_words(message, outbox):
    send_due()
    event = AuditEvent.objects.filter(action__startswith="message.").get()
    assert (event.action, event.patient_id, event.data) == (
        "message.sent", message.patient_id, "{}",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("fields", "route", "recipient"),
    [
        ({}, "sms", "+447700900123"),
        ({"preferred_channel": "email"}, "email", "ann@mail.example"),
        ({"agrees_to_sms": False}, "email", "ann@mail.example"),
        ({"preferred_channel": "email", "email": ""}, "sms", "+447700900123"),
        ({"phone": "020 7946 0999"}, "email", "ann@mail.example"),  # a landline
        ({"phone": "call my mother"}, "email", "ann@mail.example"),
        ({"preferred_channel": "phone"}, "call", ""),
        ({"preferred_channel": "letter"}, "call", ""),
        ({"agrees_to_sms": False, "agrees_to_email": False}, "call", ""),
        ({"agrees_to_sms": False, "email": ""}, "call", ""),
    ],
)
def test_the_way_is_one_that_was_agreed_and_is_there(texter, fields, route, recipient):
    for name, value in fields.items():
        setattr(texter, name, value)
    way = reach(texter)
    assert (way.route, way.recipient) == (route, recipient)
    assert bool(way.why_not) is (route == "call")


def test_consent_that_is_withdrawn_holds_for_what_waits(message, texter, desk, outbox):
    texter.agrees_to_sms = texter.agrees_to_email = False
    save_patient(patient=texter, actor=desk)
    send_due()
    assert outbox.sent == {}
    assert states() == [("confirmation", "known")]


def test_whoever_is_called_comes_to_the_desk_with_a_reminder(sending, book, desk, tick, clock):
    caller = make_patient(desk, "Ben Call", phone="020 7946 0999", preferred_channel="phone")
    book(caller, "2026-12-04 10:30")
    tick()
    assert states() == [("confirmation", "known")]
    clock.shift(timedelta(days=2, hours=1))
    tick()
    assert states()[1:] == [("reminder", "to_call")]
    assert [(row.what, row.detail) for row in to_settle()] == [
        ("To call: reminder", "Prefers phone.")
    ]


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("07700 900123", "+447700900123"),
        ("+49 1512 3456789", "+4915123456789"),
        ("", ""),
        ("12", ""),
    ],
)
def test_numbers_are_written_as_providers_want_them(typed, number):
    assert text_number(typed) == number

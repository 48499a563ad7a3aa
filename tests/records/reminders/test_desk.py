"""The desk settles what came back, and invites to reviews."""

from datetime import date, timedelta

import pytest
from django.contrib.messages import get_messages
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from clinic.audit.models import AuditEvent
from clinic.background.models import WorkerSeen
from records.reminders.enums import AnswerKind, MessageKind
from records.reminders.errors import NobodyKnows, Refused
from records.reminders.models import Message
from records.reminders.queries import to_settle
from records.reminders.services.answering import answer_by
from records.reminders.services.owning import save_reminder_policy
from records.reminders.services.sending import send_due
from records.reminders.services.writing import write_about
from records.reviews.services.acts import excuse
from tests.factories import make_patient, make_review, refreshed
from tests.records.reminders.conftest import move, states

LIST = reverse("reminder-list")


@pytest.fixture
def came_back(sending, book, texter, tick, outbox):
    """`came_back(error)`: a message that the back end answered so."""

    def send(error: Exception) -> Message:
        book(texter, "2026-12-10 10:30")
        outbox.answers = [error]
        tick()
        return Message.objects.get()

    return send


@pytest.fixture
def page(signed_in, desk, clock):
    return signed_in(desk)


@pytest.fixture
def review(injector, texter, clock):
    return make_review(injector, texter, date(2026, 12, 8))


def said(answer) -> list[str]:
    return [str(message) for message in get_messages(answer.wsgi_request)]


def test_an_answer_leads_to_its_visit_to_moving_and_to_cancelling(
    page, sending, book, texter, tick
):
    visit = book(texter, "2026-12-10 10:30")
    tick()
    answer_by(message=Message.objects.get(), kind=AnswerKind.CANNOT)
    html = page.get(LIST).content.decode()
    for name in ("appointment-detail", "appointment-move", "appointment-cancel"):
        assert f'href="{reverse(name, args=[visit.pk])}?next=%2Freminders%2F"' in html


def test_nobody_is_told_of_folders_of_the_server(page, sending):
    html = page.get(LIST).content.decode()
    assert ("Nothing leaves the building yet" in html, "var/" in html) == (True, False)


@pytest.mark.parametrize(
    ("error", "act", "state"),
    [
        (Refused("No such number."), "again", "waiting"),
        (Refused("No such number."), "called", "settled"),
        (Refused("No such number."), "give-up", "settled"),
        (NobodyKnows("Broke."), "again", "waiting"),
        (NobodyKnows("Broke."), "sent", "settled"),
    ],
)
def test_each_act_settles_it_and_is_in_the_trail(page, desk, came_back, error, act, state):
    message = came_back(error)
    assert len(to_settle()) == 1
    page.post(reverse(f"reminder-{act}", args=[message.pk]), {"next": LIST})
    assert refreshed(message).state == state
    assert to_settle() == []
    assert AuditEvent.objects.filter(actor=desk, subject_type="message").count() == 1


def test_what_is_sent_again_goes_at_once(
    page, came_back, outbox, django_capture_on_commit_callbacks
):
    message = came_back(Refused("No such number."))
    with django_capture_on_commit_callbacks(execute=True):
        page.post(reverse("reminder-again", args=[message.pk]))
    assert DBTaskResult.objects.count() == 1
    send_due()
    assert list(outbox.sent) == [message.reference]


def test_an_act_that_is_not_possible_now_says_why(page, came_back):
    message = came_back(Refused("No such number."))
    page.post(reverse("reminder-called", args=[message.pk]))
    answer = page.post(reverse("reminder-again", args=[message.pk]))
    assert said(answer)[-1] == "There is nothing to decide here any more: settled."


def test_what_no_longer_holds_is_not_sent_again(page, came_back):
    message = came_back(Refused("No such number."))
    move(message.appointment, timedelta(days=1))
    answer = page.post(reverse("reminder-again", args=[message.pk]))
    assert "no longer holds" in said(answer)[-1]
    assert refreshed(message).state == "undeliverable"
    assert to_settle() == []


def test_the_list_shows_words_but_no_link(page, sending, book, texter, tick):
    book(texter, "2026-12-10 10:30")
    tick()
    text = page.get(LIST).content.decode()
    assert "you are booked for Thursday 10 December" in text
    assert "/reminders/answer/" not in text


@pytest.mark.parametrize("count", [1, 4])
def test_the_list_asks_as_often_for_many_as_for_one(
    page, sending, book, desk, tick, count, django_assert_max_num_queries
):
    for number in range(count):
        caller = make_patient(desk, f"Ben {number}", phone=f"020 7946 010{number}")
        book(caller, f"2026-12-02 1{number}:45")
        tick()
    Message.objects.update(state="to_call")
    with django_assert_max_num_queries(14):
        assert page.get(LIST).content.decode().count("To call: confirmation") == count


def test_a_worker_that_is_not_seen_is_said_loudly(page, sending, clock):
    assert "The worker is not running" in page.get(LIST).content.decode()
    WorkerSeen.objects.create(seen_at=timezone.now())
    assert "The worker is not running" not in page.get(LIST).content.decode()
    clock.shift(timedelta(minutes=6))
    text = page.get(LIST).content.decode()
    assert "Last seen on Tuesday 1 December at 10:00." in text


def test_while_messages_are_off_nobody_misses_the_worker(page, policy):
    text = page.get(LIST).content.decode()
    assert "Messages are turned off" in text
    assert "The worker is not running" not in text


def test_a_patient_is_invited_to_a_review_by_their_channel(
    page, sending, review, outbox, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        answer = page.post(reverse("reminder-send-review", args=[review.pk]))
    assert said(answer) == ["The invitation goes by text message."]
    assert answer.url == reverse("review-list")
    send_due()
    assert outbox.texts == [
        "Larkstone Face Clinic: it is time to book your next visit. Please call us: 020 7946 0123"
    ]
    assert AuditEvent.objects.filter(action="review.invited", patient_id=review.patient_id).exists()


def test_an_invitation_goes_once_a_day(page, signed_in, desk, sending, review, clock):
    address = reverse("reminder-send-review", args=[review.pk])
    page.post(address)
    assert said(page.post(address))[-1] == "An invitation was written today already."
    clock.shift(timedelta(days=1))
    signed_in(desk).post(address)
    assert states() == [("review", "waiting")] * 2


@pytest.mark.parametrize(
    ("fields", "why"),
    [
        ({"preferred_channel": "phone"}, "prefers phone. Please call."),
        ({"agrees_to_sms": False, "agrees_to_email": False}, "has not agreed to be written to."),
    ],
)
def test_whoever_cannot_be_written_to_is_not_invited(page, sending, review, texter, fields, why):
    type(texter).objects.filter(pk=texter.pk).update(**fields)
    answer = page.post(reverse("reminder-send-review", args=[review.pk]))
    assert why in said(answer)[0]
    assert Message.objects.count() == 0


def test_a_closed_or_booked_review_is_not_invited_to(page, sending, review, book, texter):
    review.appointment = book(texter, "2026-12-10 10:30")
    review.save()
    answer = page.post(reverse("reminder-send-review", args=[review.pk]))
    assert said(answer) == ["This review is booked already."]


@pytest.mark.parametrize("state", ["waiting", "undeliverable"])
@pytest.mark.parametrize("how", ["booked", "closed"])
def test_an_invitation_ends_when_the_review_is_booked_or_closed(
    page, sending, review, book, texter, desk, outbox, state, how
):
    page.post(reverse("reminder-send-review", args=[review.pk]))
    Message.objects.update(state=state)
    assert len(to_settle()) == (1 if state == "undeliverable" else 0)
    if how == "booked":
        review.appointment = book(texter, "2026-12-10 10:30")
        review.save()
    else:
        excuse(review=review, reason="Moved abroad", actor=desk)
    send_due()
    assert outbox.sent == {}, "nobody is asked to book what is booked"
    assert to_settle() == []


def test_the_page_of_a_visit_shows_what_was_sent_and_answered(page, sending, book, texter, tick):
    visit = book(texter, "2026-12-10 10:30")
    address = reverse("reminder-about-appointment", args=[visit.pk])
    assert f'hx-get="{address}"' in page.get(f"/appointments/{visit.pk}/").content.decode()
    assert page.get(address).content.decode().strip() == ""
    tick()
    answer_by(message=Message.objects.get(), kind=AnswerKind.COMES)
    shown = page.get(address).content.decode()
    assert all(words in shown for words in ("Confirmation", "Sent", "Confirmed"))


def test_an_offer_that_came_back_is_settled_when_the_time_is_booked(sending, book, texter):
    visit = book(texter, "2026-12-10 10:30")
    type(visit).objects.update(state="offered", held_until=visit.starts_at)
    write_about(appointment=refreshed(visit), kind=MessageKind.OFFER, due_at=timezone.now())
    Message.objects.update(state="undeliverable")
    assert len(to_settle()) == 1
    type(visit).objects.update(state="booked", held_until=None)
    assert to_settle() == []


def test_no_invitation_while_messages_are_off(page, sending, owner, review):
    sending.is_on = False
    save_reminder_policy(policy=sending, actor=owner)
    answer = page.post(reverse("reminder-send-review", args=[review.pk]))
    assert "Messages are turned off" in said(answer)[0]


def test_a_patients_page_tells_who_asked_and_what_was_sent(page, sending, book, texter, tick, desk):
    book(texter, "2026-12-10 10:30")
    tick()
    text = page.get(reverse("reminder-for-patient", args=[texter.pk])).content.decode()
    assert "By text message to" in text
    assert text.count("agreed, asked on") == 2
    assert desk.full_name in text
    assert "you are booked for" in text
    assert AuditEvent.objects.filter(action="messages.read", patient_id=texter.pk).exists()


def test_another_message_that_came_back_takes_no_other_query(
    page, came_back, review, django_assert_max_num_queries
):
    came_back(Refused("There is no such number."))
    Message.objects.update(review=review)
    with CaptureQueriesContext(connection) as one:
        page.get(LIST)
    first = Message.objects.get()
    first.pk, first.key, first.reference, first.token_digest = None, "2", "2", "2"
    first.save()
    with django_assert_max_num_queries(len(one)):
        assert len(page.get(LIST).context["settle"]) == 2

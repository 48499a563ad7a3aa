"""The link of a message: it tells nothing but when and where, and what it says is kept."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from records.appointments.services.states import set_state
from records.reminders.models import MOST_ANSWERS, NOTE_LENGTH, Answer, Message
from records.reminders.queries import confirmed, to_settle
from records.reminders.services.settling import settle_answer
from records.reminders.tokens import TOKEN_LENGTH, token_of
from tests.factories import refreshed
from tests.records.reminders.conftest import move

GONE = "This link cannot be used"


@pytest.fixture
def message(sending, book, texter, tick):
    book(texter, "2026-12-10 10:30", kind="treatment", note="Lips")
    tick()
    return Message.objects.get()


@pytest.fixture
def page(message):
    """The address of the link, as somebody opens it who is not signed in."""
    return reverse("reminder-answer", kwargs={"token": token_of(message.reference)})


@pytest.fixture
def anyone():
    """A telephone that keeps no cookies; the server checks forms as it does for everybody."""
    return Client(enforce_csrf_checks=True)


def test_the_page_tells_when_and_where_and_nothing_else(message, page, anyone, injector):
    text = anyone.get(page).content.decode()
    # On a telephone the day may wrap, only the time may not (`.num` of base.css).
    assert 'Thursday 10 December 2026, <span class="num">10:30</span>' in text
    assert "4 Example Lane" in text
    for word in ("Ann", "Example,", injector.full_name, "reatment", "Lips", "P000001"):
        assert word not in text.replace("4 Example Lane", "")


@pytest.mark.parametrize("rest", ["", "a/b/", "wrong", "wrong/", "wrong/page.html"])
def test_a_wrong_link_is_told_so_by_the_clinic(policy, anyone, rest):
    answer = anyone.get(f"/reminders/answer/{rest}")
    text = answer.content.decode()
    assert (answer.status_code, GONE in text, policy.phone in text) == (200, True, True)
    assert answer["Cache-Control"] == "no-store"


@pytest.mark.parametrize("added", [".", "/.", ")/"])
def test_a_link_with_a_sign_too_many_leads_to_its_page(page, anyone, added):
    assert anyone.get(page.rstrip("/") + added).headers["Location"] == page


def test_the_page_is_kept_nowhere_and_listed_nowhere(page, anyone):
    answer = anyone.get(page)
    assert (answer["Cache-Control"], answer["Referrer-Policy"], answer["X-Robots-Tag"]) == (
        "no-store", "no-referrer", "noindex, nofollow, noarchive",
    )  # fmt: skip
    assert answer.cookies == {}


def test_opening_it_changes_nothing(page, anyone):
    anyone.get(page)
    anyone.head(page)
    assert Answer.objects.count() == 0


def test_a_confirmed_visit_counts_as_confirmed(message, page, anyone):
    assert anyone.post(page, {"kind": "comes", "note": "Not kept"}).status_code == 302
    answer = Answer.objects.get()
    assert (answer.kind, answer.note) == ("comes", "")
    assert confirmed([message.appointment]) == {message.appointment_id}
    assert to_settle() == []
    assert "Thank you, we expect you" in anyone.get(page).content.decode()


def test_whoever_asks_again_after_the_desk_settled_it_is_heard_again(page, anyone, desk):
    for _ in range(2):
        anyone.post(page, {"kind": "change", "note": "Fridays"})
    [row] = to_settle()
    settle_answer(answer=row.answer, actor=desk)
    assert to_settle() == []
    anyone.post(page, {"kind": "change", "note": "Fridays"})
    assert [row.detail for row in to_settle()] == ["Fridays"]
    assert Answer.objects.count() == 2


def test_an_answer_can_be_changed_and_the_latest_holds(message, page, anyone):
    for kind in ("comes", "cannot", "change"):
        anyone.post(page, {"kind": kind, "note": "Fridays\nsuit\tme" if kind == "change" else ""})
    assert Answer.objects.count() == 3
    assert confirmed([message.appointment]) == set()
    assert [(row.what, row.detail) for row in to_settle()] == [
        ("Asks for a change", "Fridays suit me")
    ]


def test_the_same_answer_again_is_kept_once(page, anyone):
    for _ in range(3):
        anyone.post(page, {"kind": "cannot"})
    assert Answer.objects.count() == 1


def test_moving_the_visit_settles_what_was_asked_and_undoes_a_confirmation(message, page, anyone):
    anyone.post(page, {"kind": "cannot"})
    move(message.appointment, timedelta(days=1))
    assert to_settle() == []
    assert confirmed([message.appointment]) == set()


def test_the_desk_settles_what_was_asked(message, page, anyone, desk):
    anyone.post(page, {"kind": "cannot"})
    for _ in range(2):
        settle_answer(answer=Answer.objects.get(), actor=desk)
    assert to_settle() == []
    assert Answer.objects.get().settled_by == desk


def test_whoever_asks_again_after_that_is_on_the_list_again(message, page, anyone, desk):
    anyone.post(page, {"kind": "cannot"})
    settle_answer(answer=Answer.objects.get(), actor=desk)
    anyone.post(page, {"kind": "change", "note": "Later"})
    assert [row.detail for row in to_settle()] == ["Later"]


@pytest.mark.parametrize("typed", [{}, {"kind": "perhaps"}, {"kind": "change", "note": "x" * 501}])
def test_a_wrong_answer_is_asked_again_and_keeps_what_was_typed(page, anyone, typed):
    answer = anyone.post(page, typed)
    assert answer.status_code == 200  # the log keeps the addresses of refused requests
    assert Answer.objects.count() == 0
    assert typed.get("note", "") in answer.content.decode()


def test_the_note_is_bounded(page, anyone):
    anyone.post(page, {"kind": "change", "note": "x" * NOTE_LENGTH})
    assert len(Answer.objects.get().note) == NOTE_LENGTH


def test_answers_are_bounded(page, anyone):
    for number in range(MOST_ANSWERS + 2):
        answer = anyone.post(page, {"kind": "change", "note": str(number)})
    assert "changed too often" in answer.content.decode()
    assert Answer.objects.count() == MOST_ANSWERS


def test_links_that_cannot_be_used_say_the_same_for_every_reason(
    message, page, anyone, clock, desk, sending, book, texter, tick
):
    strange = reverse("reminder-answer", kwargs={"token": "A" * TOKEN_LENGTH})
    said = {anyone.get(strange).content, anyone.get(strange.replace("A" * 24, "short")).content}
    move(message.appointment, timedelta(days=1))
    said.add(anyone.get(page).content)
    move(message.appointment, timedelta(days=-1))
    clock.shift(timedelta(days=9, hours=1))
    said.add(anyone.post(page, {"kind": "comes"}).content)
    clock.shift(-timedelta(days=9))
    set_state(appointment=message.appointment, state="cancelled", actor=desk, reason="Away")
    said.add(anyone.post(page, {"kind": "comes"}).content)
    tick()
    told = Message.objects.get(kind="cancelled")
    said.add(anyone.get(reverse("reminder-answer", args=[token_of(told.reference)])).content)
    assert len(said) == 1
    assert GONE in said.pop().decode()
    assert "020 7946 0123" in anyone.get(page).content.decode()
    assert Answer.objects.count() == 0


def test_no_token_is_logged(page, anyone, caplog):
    anyone.post(page, {})
    anyone.get(page.replace(page.split("/")[3], "B" * TOKEN_LENGTH))
    assert caplog.records == []


def test_the_link_of_an_earlier_message_holds_for_the_same_time(message, anyone, clock, tick):
    clock.shift(timedelta(days=8, hours=2))
    tick()
    reminder = Message.objects.get(kind="reminder")
    for one in (message, reminder):
        anyone.post(reverse("reminder-answer", args=[token_of(one.reference)]), {"kind": "comes"})
    assert confirmed([refreshed(message).appointment]) == {message.appointment_id}
    assert Answer.objects.count() == 1
    assert timezone.now() < message.appointment.starts_at

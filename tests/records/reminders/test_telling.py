"""What patients are told of their visits: each news once, at a good time, and only what holds."""

from datetime import timedelta

import pytest
from django.utils import timezone

from records.appointments.services.states import set_state
from records.reminders.enums import AnswerKind
from records.reminders.models import Message, ReminderPolicy
from records.reminders.services.answering import answer_by
from records.reminders.services.owning import save_reminder_policy
from tests.records.reminders.conftest import move, states

HOUR, DAY = timedelta(hours=1), timedelta(days=1)


def cancel(appointment, actor):
    set_state(appointment=appointment, state="cancelled", actor=actor, reason="Away")


def test_a_booking_is_confirmed_once(sending, book, texter, tick, outbox):
    book(texter, "2026-12-04 10:30")
    tick()
    tick()
    assert states() == [("confirmation", "sent")]
    assert len(outbox.sent) == 1
    assert outbox.texts[0].startswith(
        "Larkstone Face Clinic: you are booked for Friday 4 December, 10:30. To confirm or change: "
    )


def test_a_visit_is_reminded_of_a_day_before(sending, book, texter, tick, clock, outbox):
    book(texter, "2026-12-04 10:30")
    tick()
    clock.shift(2 * DAY)
    tick()
    assert states()[1:] == [("reminder", "waiting")]
    clock.shift(HOUR)
    tick()
    assert states() == [("confirmation", "sent"), ("reminder", "sent")]
    assert "we expect you on Friday 4 December, 10:30" in outbox.texts[1]


@pytest.mark.parametrize("answered_on", [0, 2])
def test_whoever_cannot_come_is_not_told_that_they_are_expected(
    sending, book, texter, tick, clock, outbox, answered_on
):
    book(texter, "2026-12-04 10:30")
    tick()
    clock.shift(answered_on * DAY)
    tick()
    told = Message.objects.get(kind="confirmation")
    answer_by(message=told, kind=AnswerKind.CANNOT)
    for _ in range(6):
        clock.shift(DAY / 2)
        tick()
    assert [kind for kind, state in states() if state == "sent"] == ["confirmation"]
    assert len(states()) <= 2, "nothing is written and withdrawn again and again"


def test_whoever_was_told_within_the_day_needs_no_reminder(sending, book, texter, tick, clock):
    book(texter, "2026-12-02 09:00")
    tick()
    clock.shift(HOUR)
    tick()
    assert states() == [("confirmation", "sent")]


def test_a_moved_visit_tells_its_new_time_and_forgets_the_old_one(
    sending, book, texter, tick, clock, outbox
):
    visit = book(texter, "2026-12-03 09:30")
    tick()
    clock.shift(HOUR / 6)
    move(visit, DAY)
    tick()
    assert sorted(states()[1:]) == [("changed", "sent"), ("reminder", "withdrawn")]
    assert "a new time, Friday 4 December, 09:30" in outbox.texts[-1]


def test_a_visit_moved_before_anybody_was_told_is_confirmed_as_it_is(
    sending, book, texter, tick, outbox
):
    visit = book(texter, "2026-12-03 09:30")
    move(visit, DAY)
    tick()
    assert states() == [("confirmation", "sent")]
    assert "4 December" in outbox.texts[0]


def test_a_visit_moved_to_and_fro_is_told_of_each_time(sending, book, texter, tick, outbox):
    visit = book(texter, "2026-12-10 10:30")
    tick()
    for step in (DAY, -DAY, DAY):
        move(visit, step)
        tick()
        tick()
    assert states() == [("confirmation", "sent"), *[("changed", "sent")] * 3]


def test_a_visit_moved_to_and_fro_at_night_is_told_of_where_it_is_in_the_morning(
    sending, book, texter, tick, clock, outbox
):
    visit = book(texter, "2026-12-10 10:30")
    tick()
    clock.shift(11 * HOUR)
    for step in (DAY, -DAY, DAY):
        move(visit, step)
        tick()
    clock.shift(11 * HOUR)
    tick()
    assert "a new time, Friday 11 December" in outbox.texts[-1]
    assert states() == [("confirmation", "sent"), ("changed", "withdrawn"), ("changed", "sent")]


def test_a_visit_moved_away_and_back_before_anybody_was_told_is_confirmed(
    sending, book, texter, tick, clock, outbox
):
    clock.shift(11 * HOUR)
    visit = book(texter, "2026-12-10 10:30")
    tick()
    for step in (DAY, -DAY):
        move(visit, step)
        tick()
    clock.shift(11 * HOUR)
    tick()
    assert "Thursday 10 December, 10:30" in outbox.texts[0]


def test_a_visit_moved_away_and_back_is_reminded_of(sending, book, texter, tick, clock, outbox):
    visit = book(texter, "2026-12-03 09:30")
    tick()
    for step in (7 * DAY, -7 * DAY):
        clock.shift(HOUR / 6)
        move(visit, step)
        tick()
    clock.shift(DAY)
    tick()
    assert states().count(("reminder", "waiting")) + states().count(("reminder", "sent")) == 1


def test_a_cancelled_visit_is_told_and_no_longer_reminded_of(
    sending, book, texter, tick, desk, clock, outbox
):
    visit = book(texter, "2026-12-03 09:30")
    tick()
    cancel(visit, desk)
    tick()
    tick()
    assert sorted(states()) == [
        ("cancelled", "sent"), ("confirmation", "sent"), ("reminder", "withdrawn"),
    ]  # fmt: skip
    assert "does not take place" in outbox.texts[-1]


def test_a_visit_cancelled_before_anybody_was_told_is_not_told_of(
    sending, book, texter, tick, desk
):
    cancel(book(texter, "2026-12-03 09:30"), desk)
    tick()
    assert states() == []


@pytest.mark.parametrize("state", ["arrived", "in_room", "offered", "something_new"])
def test_nobody_is_written_to_about_a_visit_in_another_state(sending, book, texter, tick, state):
    visit = book(texter, "2026-12-03 09:30")
    held_until = visit.starts_at if state == "offered" else None
    type(visit).objects.filter(pk=visit.pk).update(state=state, held_until=held_until)
    tick()
    assert states() == []


def test_a_visit_that_has_begun_is_not_told_of(sending, book, texter, tick, clock):
    book(texter, "2026-12-01 10:30")
    clock.shift(HOUR)
    tick()
    assert states() == []


def test_at_night_everything_waits(sending, book, texter, tick, clock, outbox):
    clock.shift(11 * HOUR)
    book(texter, "2026-12-04 10:30")
    tick()
    message = Message.objects.get()
    assert (message.state, timezone.localtime(message.due_at).hour) == ("waiting", 8)
    clock.shift(11 * HOUR)
    tick()
    assert len(outbox.sent) == 1


def test_quiet_hours_that_begin_now_hold_what_is_due_already(
    sending, policy, book, texter, tick, outbox
):
    book(texter, "2026-12-04 10:30")
    policy.quiet_from, policy.quiet_until = "09:00", "12:00"
    policy.save()
    tick()
    assert outbox.sent == {}


def test_turning_messages_on_tells_nobody_of_what_was_booked_before(
    policy, owner, clock, book, texter, tick, outbox
):
    book(texter, "2026-12-04 10:30")
    tick()
    assert states() == []
    save_reminder_policy(policy=ReminderPolicy(is_on=True), actor=owner)
    tick()
    assert states() == [("confirmation", "known")]
    assert outbox.sent == {}


def test_turning_confirmations_on_tells_nobody_of_what_was_booked_before(
    sending, owner, book, texter, tick, outbox
):
    sending.confirms = False
    save_reminder_policy(policy=sending, actor=owner)
    book(texter, "2026-12-04 10:30")
    tick()
    sending.confirms = True
    save_reminder_policy(policy=sending, actor=owner)
    tick()
    assert (states(), outbox.sent) == ([("confirmation", "known")], {})


def test_what_was_booked_before_is_reminded_of(policy, owner, clock, book, texter, tick, outbox):
    book(texter, "2026-12-04 10:30")
    save_reminder_policy(policy=ReminderPolicy(is_on=True), actor=owner)
    clock.shift(2 * DAY + HOUR)
    tick()
    assert [text[:40] for text in outbox.texts] == ["Larkstone Face Clinic: we expect you on "]


def test_kinds_that_are_turned_off_are_not_written(sending, owner, book, texter, tick, clock):
    sending.confirms = sending.reminds = False
    save_reminder_policy(policy=sending, actor=owner)
    book(texter, "2026-12-02 10:30")
    tick()
    assert states() == []


@pytest.mark.parametrize("count", [1, 4])
def test_looking_asks_as_often_for_many_as_for_one(
    sending, book, texter, tick, count, django_assert_max_num_queries
):
    for number in range(count):
        book(texter, f"2026-12-{10 + number} 10:30")
    tick()
    with django_assert_max_num_queries(12):
        tick()

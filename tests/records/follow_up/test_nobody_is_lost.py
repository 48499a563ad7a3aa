"""
Whatever is done, nobody falls off the follow-up list.

Random acts on reviews, visits, adverse events and the people of a recall; then the list, today or
later, is compared with what a plain look at every row of the tables says.
"""

from collections import Counter
from datetime import datetime, timedelta
from itertools import count

import pytest
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st

from clinic.policy.queries import current_policy
from planning.follow_up import Standing, Step, TryOutcome, Way
from records.adverse_events.enums import EventOutcome
from records.adverse_events.errors import AdverseEventError
from records.adverse_events.models import AdverseEvent
from records.adverse_events.services import close_event
from records.appointments.enums import AppointmentState
from records.appointments.errors import AppointmentClosed, TimeTaken
from records.appointments.models import Appointment, start_of
from records.appointments.services.states import set_state
from records.follow_up.errors import AttemptRefused
from records.follow_up.queries.work_list import FollowUp, follow_up
from records.follow_up.services import note_attempt
from records.patients.enums import Channel
from records.recalls.enums import ContactOutcome
from records.recalls.models import CasePatient
from records.recalls.services.people import note_contact
from records.reminders.enums import AnswerKind, MessageKind, MessageState
from records.reminders.errors import ReminderError
from records.reminders.models import Answer, Message
from records.reminders.queries import to_settle
from records.reminders.services.settling import give_up, note_called, send_again, settle_answer
from records.reviews.errors import DayRefused, ReviewBooked, ReviewClosed, ReviewOpen
from records.reviews.models import Review
from records.reviews.services.acts import book_review, excuse, mark_done, reopen
from records.reviews.services.moving import move_review
from tests.factories import make_event, make_patient, make_user
from tests.records.follow_up.conftest import make_answer, make_message
from tests.records.recalls.cases import make_case, span
from tests.records.reviews.treatments import CHEEK, FILLER, treat

ACTS = st.tuples(
    st.sampled_from(
        [
            "book",
            "mark",
            "try",
            "done",
            "excuse",
            "reopen",
            "move",
            "event",
            "end",
            "tell",
            "send",
            "answer",
            "settle",
        ]
    ),
    st.integers(0, 40),
)
STATES = [
    AppointmentState.ARRIVED,
    AppointmentState.DONE,
    AppointmentState.CANCELLED,
    AppointmentState.DID_NOT_ATTEND,
]
TOLD = {ContactOutcome.INFORMED, ContactOutcome.REPLIED, ContactOutcome.DECLINED}
REFUSALS = (
    AdverseEventError, AppointmentClosed, AttemptRefused, DayRefused, ReminderError, ReviewBooked,
    ReviewClosed, ReviewOpen, TimeTaken,
)  # fmt: skip
numbers = count()


def do(act: str, number: int, hour: int, review: Review, person: CasePatient, actor) -> None:
    """One act; what the services refuse changes nothing and is part of the game."""
    to = timezone.localdate() + timedelta(days=number)
    event = AdverseEvent.objects.filter(patient=review.patient).order_by("-pk").first()
    visit = Appointment.objects.filter(patient=review.patient).order_by("-pk").first()
    try:
        if act == "book":
            starts_at = start_of(to) + timedelta(hours=hour)
            booked = Appointment(practitioner=actor, kind="review", starts_at=starts_at)
            book_review(review=review, appointment=booked, actor=actor)
        elif act == "mark" and review.appointment:
            state = STATES[number % len(STATES)]
            set_state(appointment=review.appointment, state=state, actor=actor, reason="A cold")
        elif act == "try":
            outcome, way = list(TryOutcome)[number % 5], list(Way)[number % 4]
            again_at = timezone.now() + timedelta(hours=1) if outcome is TryOutcome.LATER else None
            note_attempt(about=review, way=way, outcome=outcome, again_at=again_at, actor=actor)
        elif act == "done":
            mark_done(review=review, actor=actor)
        elif act == "excuse":
            excuse(review=review, reason="Moved abroad", actor=actor)
        elif act == "reopen":
            reopen(review=review, actor=actor)
        elif act == "move":
            move_review(review=review, due_on=to, reason="Away", actor=actor)
        elif act == "event":
            make_event(actor, review.patient, session=review.session if number % 2 else None)
        elif act == "end" and event:
            close_event(event=event, outcome=EventOutcome.RECOVERED, actor=actor)
        elif act == "tell":
            by_phone = [one for one in ContactOutcome if one.fits(Channel.PHONE)]
            outcome = by_phone[number % len(by_phone)]
            note_contact(person=person, channel=Channel.PHONE, outcome=outcome, actor=actor)
        elif act == "send" and visit:
            kind = list(MessageKind)[number % len(MessageKind)]
            state = list(MessageState)[number % len(MessageState)]
            settled = {"settled_at": timezone.now(), "settled_by": actor}
            make_message(
                visit,
                state=state,
                kind=kind,
                **(settled if state is MessageState.SETTLED else {}),
            )
        elif act == "answer" and visit:
            make_answer(visit, list(AnswerKind)[number % len(AnswerKind)])
        elif act == "settle":
            _settle_one(number, actor)
    except REFUSALS:
        pass


def _settle_one(number: int, actor) -> None:
    for row in to_settle()[:1]:
        if row.answer:
            settle_answer(answer=row.answer, actor=actor)
        else:
            (note_called, give_up, send_again)[number % 3](message=row.message, actor=actor)


def unsettled_messages(now: datetime) -> set[int]:
    """By a look at each row: came back, and what they would tell still holds."""
    return {
        message.pk
        for message in Message.objects.select_related("appointment")
        if message.state in {"to_call", "undeliverable", "unsure"}
        and message.starts_at > now
        and (
            message.appointment.state
            == {"cancelled": "cancelled", "offer": "offered"}.get(message.kind)
            or (
                message.kind in {"confirmation", "reminder", "changed"}
                and message.appointment.state == "booked"
                and message.appointment.starts_at == message.starts_at
            )
        )
    }


def open_answers(now: datetime) -> set[int]:
    """By a look at each row: the last about a visit to come, and it asks for something."""
    last = {
        (answer.appointment_id, answer.starts_at): answer
        for answer in Answer.objects.select_related("appointment").order_by("pk")
    }
    return {
        answer.pk
        for answer in last.values()
        if answer.kind in {"change", "cannot"}
        and answer.settled_at is None
        and answer.starts_at > now
        and answer.appointment.state == "booked"
        and answer.appointment.starts_at == answer.starts_at
    }


def waiting_reviews(now: datetime) -> set[int]:
    """By a look at each row: open, due within the policy's days, and no visit to come."""
    on = timezone.localdate(now)
    last = on + timedelta(days=current_policy().review_lead_days)
    return {
        review.pk
        for review in Review.objects.select_related("appointment")
        if review.closed_at is None and review.due_on <= last and not is_to_come(review, on)
    }


def is_to_come(review: Review, on) -> bool:
    visit = review.appointment
    return (
        visit is not None
        and visit.state not in {"done", "cancelled", "did_not_attend"}
        and timezone.localdate(visit.starts_at) >= on
    )


def untold_people() -> set[int]:
    return {
        person.pk
        for person in CasePatient.objects.select_related("case").prefetch_related("contacts")
        if person.case.closed_at is None
        and not person.case.is_drill
        and not TOLD & {ContactOutcome(contact.outcome) for contact in person.contacts.all()}
    }


def check(followed: FollowUp, now: datetime) -> None:
    rows = followed[:]
    times = Counter((row.case.source, row.case.pk) for row in rows)
    assert set(times.values()) <= {1}, "each once"
    listed = {
        source: {pk for name, pk in times if name == source}
        for source in ("review", "recall", "event", "message", "answer")
    }
    assert listed["review"] == waiting_reviews(now)
    assert listed["recall"] == untold_people()
    assert listed["message"] == unsettled_messages(now)
    assert listed["answer"] == open_answers(now)
    booked = {found.case.pk for standing, found in followed.everything if standing == "booked"}
    for event in AdverseEvent.objects.filter(closed_at=None):
        by_review = event.review_asks.filter(review__closed_at=None).exists()
        assert by_review or event.pk in listed["event"] | booked
    assert all(row.step in Step for row in rows)
    assert sum(followed.counts.values()) == len(rows) + followed.counts[Standing.BOOKED]


@pytest.mark.django_db
@settings(max_examples=15, deadline=None, derandomize=True)
@given(acts=st.lists(ACTS, max_size=12), after=st.integers(0, 30))
def test_everybody_who_waits_is_on_the_list_once(acts, after):
    actor = make_user(f"injector{next(numbers)}", is_injector=True)
    patient = make_patient(actor, f"Ann Example {next(numbers)}", phone="020 7946 0101")
    today = timezone.localdate()
    sessions = [
        treat(actor, patient, today - timedelta(days=days), (FILLER, CHEEK)) for days in (30, 14, 1)
    ]
    lot = sessions[0].points.get().unit.lot
    person = make_case(actor, span(lot.product, lot.number)).people.get()
    reviews = Review.objects.filter(session__in=sessions).order_by("pk")
    for hour, (act, number) in enumerate(acts):
        do(act, number, hour, reviews[number % len(reviews)], person, actor)

    policy = current_policy()
    for now in (timezone.now(), timezone.now() + timedelta(days=after)):
        check(follow_up(policy, clinical=after % 2 == 0, now=now), now)

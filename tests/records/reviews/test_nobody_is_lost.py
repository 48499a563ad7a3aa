"""
Whatever a clinic's rules are and whatever is done to its reviews, nobody is lost.

Random clinics (rules in use and not, closures, holidays), sessions of several kinds, top-ups, and
every act on their reviews: what each signed session's rules ask for is due, booked, planned,
overdue, done or excused, once a visit.
"""

from collections import Counter
from datetime import date, timedelta
from itertools import count

import pytest
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st

from clinic.policy.models import ClinicPolicy, Closure
from clinic.review_rules.models import ReviewRule
from clinic.review_rules.queries import rule_book
from planning.atlas.region_groups import RegionGroup
from planning.review_rules import ReviewEvent
from records.appointments.enums import AppointmentState
from records.appointments.errors import AppointmentClosed, TimeTaken
from records.appointments.models import Appointment, start_of
from records.appointments.services.states import set_state
from records.reviews.enums import Standing
from records.reviews.errors import DayRefused, ReviewBooked, ReviewClosed, ReviewOpen
from records.reviews.models import Review, ReviewAsk
from records.reviews.queries.asked import treatment_of
from records.reviews.queries.dates import reviews_off_their_history, sessions_without_review
from records.reviews.queries.work_list import open_reviews
from records.reviews.services.acts import book_review, excuse, mark_done, reopen
from records.reviews.services.moving import move_review
from records.reviews.services.recomputing import recompute
from records.sessions.models import TreatmentSession
from records.sessions.services.signing import add_addendum
from tests.factories import make_event, make_patient, make_user
from tests.records.reviews.treatments import CHEEK, FILLER, LIP, TOXIN, treat

STATES = [
    AppointmentState.ARRIVED,
    AppointmentState.DONE,
    AppointmentState.CANCELLED,
    AppointmentState.DID_NOT_ATTEND,
]
RULES = st.fixed_dictionaries(
    {
        "kind": st.sampled_from(["", FILLER, TOXIN]),
        "group": st.sampled_from(["", RegionGroup.LIPS, RegionGroup.MIDFACE]),
        "event": st.sampled_from(ReviewEvent),
        "count": st.integers(1, 8),
        "unit": st.sampled_from(["day", "week", "month"]),
        "early_days": st.integers(0, 10),
        "late_days": st.integers(0, 20),
        "rolling": st.sampled_from(["following", "preceding", "modified_following"]),
        "is_active": st.booleans(),
    }
)
CLINICS = st.fixed_dictionaries(
    {
        "rules": st.lists(
            RULES, max_size=5, unique_by=lambda r: (r["kind"], r["group"], r["event"])
        ),
        "closures": st.lists(st.tuples(st.integers(-60, 90), st.integers(0, 20)), max_size=3),
        "weekdays": st.lists(st.integers(1, 7), min_size=1, unique=True).map(sorted),
        "country": st.sampled_from(["", "GB", "DE"]),
    }
)
GIVEN = st.lists(
    st.tuples(st.sampled_from([FILLER, TOXIN]), st.sampled_from([CHEEK, LIP])),
    min_size=1, max_size=3,
)  # fmt: skip
TREATED = st.lists(st.tuples(st.integers(0, 120), GIVEN), min_size=1, max_size=3)
ACTS = st.tuples(
    st.sampled_from(
        [
            "book", "mark", "done", "excuse", "reopen", "move", "amend", "event", "rules",
            "closure", "recompute",
        ]
    ),
    st.integers(0, 40),
)  # fmt: skip
numbers = count()


def build(clinic: dict) -> None:
    """The clinic of this example."""
    ReviewRule.objects.update(is_active=False)
    ClinicPolicy.objects.all().delete()
    Closure.objects.all().delete()
    ClinicPolicy.objects.create(
        open_weekdays=clinic["weekdays"], holiday_country=clinic["country"], top_up_days=30
    )
    for number, rule in enumerate(clinic["rules"]):
        ReviewRule.objects.create(label=f"Rule {number}", **rule)
    for offset, days in clinic["closures"]:
        first = timezone.localdate() + timedelta(days=offset)
        Closure.objects.create(
            starts_on=first, ends_on=first + timedelta(days=days), reason="Closed"
        )


def do(act: str, number: int, hour: int, review: Review, injector) -> None:
    """One act; what the services refuse changes nothing and is part of the game."""
    review.refresh_from_db()
    to = timezone.localdate() + timedelta(days=number)
    try:
        if act == "book":
            starts_at = start_of(to) + timedelta(hours=hour)
            booked = Appointment(practitioner=injector, kind="review", starts_at=starts_at)
            book_review(review=review, appointment=booked, actor=injector)
        elif act == "mark" and review.appointment:
            state = STATES[number % len(STATES)]
            set_state(appointment=review.appointment, state=state, actor=injector, reason="A cold")
        elif act == "done":
            mark_done(review=review, actor=injector)
        elif act == "excuse":
            excuse(review=review, reason="Moved abroad", actor=injector)
        elif act == "reopen":
            reopen(review=review, actor=injector)
        elif act == "move":
            move_review(review=review, due_on=to, reason="Away", actor=injector)
        elif act == "amend":
            add_addendum(
                session=review.session, reason=f"Slip {hour}", text="It was the other one.",
                actor=injector, moved={review: to},
            )  # fmt: skip
        elif act == "event":
            make_event(injector, review.patient, session=review.session)
        elif act == "rules":
            ReviewRule.objects.filter(is_active=True).update(count=number + 1)
        elif act == "closure":
            Closure.objects.create(starts_on=to, ends_on=to, reason="Closed")
        elif act == "recompute":
            recompute(actor=injector)
    except (
        AppointmentClosed, DayRefused, ReviewBooked, ReviewClosed, ReviewOpen, TimeTaken,
    ):  # fmt: skip
        pass


def asked_at_signing(session: TreatmentSession) -> tuple[set[int | None], int]:
    """The rules that a session chooses now, and at how many visits they are answered."""
    on = timezone.localdate(session.started_at)
    book = rule_book(on_or_after=on)
    keys = treatment_of(session, book).keys(book)
    return keys, len(book.visits(keys, on))


@pytest.mark.django_db
@settings(max_examples=20, deadline=None, derandomize=True)
@given(clinic=CLINICS, treated=TREATED, acts=st.lists(ACTS, max_size=6), after=st.integers(0, 90))
def test_whatever_a_signed_session_asks_for_is_somewhere_and_once(clinic, treated, acts, after):
    injector = make_user(f"injector{next(numbers)}", is_injector=True)
    patient = make_patient(injector, f"Ann Example {next(numbers)}")
    build(clinic)
    sessions = []
    for days, given_there in sorted(treated, key=lambda pair: -pair[0]):
        day = timezone.localdate() - timedelta(days=days)
        session = treat(injector, patient, day, *given_there)
        keys, visits = asked_at_signing(session)
        assert {ask.rule_id for ask in session.review_asks.all()} == keys
        assert session.reviews.count() == visits >= 1
        sessions.append(session)

    for hour, (act, number) in enumerate(acts):
        before = set(Review.objects.values_list("pk", flat=True))
        reviews = Review.objects.filter(session__in=sessions).order_by("pk")
        do(act, number, hour, reviews[number % len(reviews)], injector)
        assert before <= set(Review.objects.values_list("pk", flat=True)), "none vanishes"

    on = timezone.localdate() + timedelta(days=after)
    listed = Counter(row.pk for row in open_reviews(on, until=date(2100, 1, 1)))
    for review in Review.objects.filter(session__in=sessions):
        where = [review.outcome] if review.outcome else []
        where += ["open"] * listed[review.pk]
        assert where in (["done"], ["excused"], ["open"])
    for session in sessions:
        assert session.review_asks.filter(event=None).exists()
        assert (
            session.adverse_events.count()
            >= ReviewAsk.objects.filter(session=session).exclude(event=None).count()
        )
    assert not sessions_without_review()
    assert not reviews_off_their_history()
    assert {row.standing for row in open_reviews(on, until=on)} <= {
        Standing.DUE, Standing.OVERDUE, Standing.BOOKED,
    }  # fmt: skip

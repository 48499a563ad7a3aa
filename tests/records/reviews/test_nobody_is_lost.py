"""Whatever is done to appointments and reviews, no treatment that asks for a review is lost."""

from datetime import timedelta
from itertools import count

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clinic.staff.models import User
from planning.vocabulary import ProductKind
from records.appointments.enums import AppointmentState
from records.appointments.errors import AppointmentClosed
from records.appointments.models import Appointment, start_of
from records.appointments.services import set_state
from records.reviews.enums import Standing
from records.reviews.errors import ReviewBooked, ReviewClosed, ReviewOpen
from records.reviews.models import Review
from records.reviews.queries.work_list import open_reviews
from records.reviews.services.acts import book_review, excuse, mark_done, reopen
from records.sessions.enums import Remainder
from records.sessions.services.signing import sign_session
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session_with_unit,
    make_units,
    make_user,
)

STATES = [
    AppointmentState.ARRIVED,
    AppointmentState.DONE,
    AppointmentState.CANCELLED,
    AppointmentState.DID_NOT_ATTEND,
]
ACTS = st.one_of(
    st.tuples(st.just("book"), st.integers(1, 40)),
    st.tuples(st.just("mark"), st.sampled_from(STATES)),
    st.tuples(st.sampled_from(["done", "excuse", "reopen"]), st.none()),
)
numbers = count()


def treat(injector: User, number: int) -> Review:
    """A patient, a session with one point, signed: the review that follows."""
    patient = make_patient(injector, f"Ann Example {number}")
    product = make_product(f"HA filler {number}", kind=ProductKind.HA_FILLER)
    (unit,) = make_units(injector, product, quantity=1)
    session = make_session_with_unit(injector, patient, unit)
    make_point(session, unit)
    sign_session(session=session, remainders={unit.pk: Remainder.WASTED}, actor=injector)
    return session.reviews.get()


def do(act: str, argument, hour: int, review: Review, injector: User) -> None:
    """
    One act; what the services refuse changes nothing and is part of the game.

    Each booking has an hour of its own, so that no time is taken.
    """
    review.refresh_from_db()
    try:
        if act == "book":
            starts_at = start_of(review.due_on) + timedelta(days=argument - 20, hours=hour)
            appointment = Appointment(practitioner=injector, kind="review", starts_at=starts_at)
            book_review(review=review, appointment=appointment, actor=injector)
        elif act == "mark" and review.appointment:
            set_state(
                appointment=review.appointment, state=argument, actor=injector, reason="A cold"
            )
        elif act == "done":
            mark_done(review=review, actor=injector)
        elif act == "excuse":
            excuse(review=review, reason="Moved abroad", actor=injector)
        elif act == "reopen":
            reopen(review=review, actor=injector)
    except (AppointmentClosed, ReviewBooked, ReviewClosed, ReviewOpen):
        pass


@pytest.mark.django_db
@settings(
    max_examples=25,
    deadline=None,
    derandomize=True,
)
@given(acts=st.lists(ACTS, max_size=7), after=st.integers(0, 60))
def test_a_signed_session_is_due_booked_done_or_excused(acts, after):
    number = next(numbers)
    injector = make_user(f"injector{number}", is_injector=True)
    review = treat(injector, number)
    for hour, (act, argument) in enumerate(acts):
        do(act, argument, hour, review, injector)
    review.refresh_from_db()
    on = review.due_on + timedelta(days=after)
    listed = [row.standing for row in open_reviews(on, until=on) if row.pk == review.pk]
    if review.outcome:
        assert (listed, review.outcome in {"done", "excused"}) == ([], True)
    else:
        assert len(listed) == 1
        assert listed[0] in {Standing.DUE, Standing.OVERDUE, Standing.BOOKED}

"""What was treated in the weeks before: signed sessions with their points, and their reviews."""

import random
from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta

from django.db import connection
from django.utils import timezone

from clinic.staff.models import User
from clinic.stock.enums import UnitState
from clinic.stock.models import Lot, UnitOfStock
from clinic.visit_kinds.enums import AppointmentKind
from planning.atlas.measurements import CHART_VERSION
from planning.vocabulary import Aspiration, Instrument, Plane, Side, Technique, View
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.follow_up.models import ContactAttempt
from records.reviews.enums import DateCause, ReviewOutcome
from records.reviews.models import Review, ReviewAsk, ReviewDate
from records.sessions.models import InjectionEntry, Opening, SessionUnit, TreatmentSession
from tests.bench.building import fast_load

POINTS_A_SESSION, AMOUNT = 8, 100
REVIEW_AFTER, SUITS_BEFORE, SUITS_AFTER = (timedelta(days=days) for days in (14, 2, 7))
REGIONS = ("zygomatic", "temple", "nasolabial", "upper_lip", "mental", "prejowl")
PLANES = (Plane.SUBCUTANEOUS, Plane.DEEP_FAT, Plane.SUPRAPERIOSTEAL)


def fill_treatments(visits: Iterable[Appointment], lot: Lot, desk: User, now: datetime) -> None:
    """A signed session for each treatment that is done, and the review it asks for."""
    treated = [
        visit
        for visit in visits
        if visit.kind == AppointmentKind.TREATMENT and visit.state == AppointmentState.DONE
    ]
    # What is written in the same transaction, as a test does: PostgreSQL makes no index of a table
    # whose references it has still to look at.
    connection.check_constraints()
    with fast_load():
        sessions = TreatmentSession.objects.bulk_create(_session(visit) for visit in treated)
        _fill_points(sessions, lot)
        _fill_reviews(sessions, _next_reviews(visits, now), desk, timezone.localdate(now))


def _session(visit: Appointment) -> TreatmentSession:
    return TreatmentSession(
        patient_id=visit.patient_id, injector=visit.practitioner, appointment=visit,
        started_at=visit.starts_at, signed_at=visit.ends_at, signed_by=visit.practitioner,
        signed_name=visit.practitioner.full_name,
    )  # fmt: skip


def _fill_points(sessions: list[TreatmentSession], lot: Lot) -> None:
    """Eight points a session, from a syringe of its own of which a fifth is left."""
    units = UnitOfStock.objects.bulk_create(
        UnitOfStock(
            label=f"L{number:06d}", lot=lot, content=1_000, drawn=POINTS_A_SESSION * AMOUNT,
            state=UnitState.OPENED,
        )
        for number in range(len(sessions))
    )  # fmt: skip
    pairs = list(zip(sessions, units, strict=True))
    Opening.objects.bulk_create(
        Opening(
            unit=unit, session=session, patient_id=session.patient_id,
            opened_at=session.started_at, opened_by=session.injector,
        )
        for session, unit in pairs
    )  # fmt: skip
    SessionUnit.objects.bulk_create(
        SessionUnit(session=session, unit=unit, remainder="kept") for session, unit in pairs
    )
    InjectionEntry.objects.bulk_create(
        point for session, unit in pairs for point in _points(session, unit)
    )


def _points(session: TreatmentSession, unit: UnitOfStock) -> Iterator[InjectionEntry]:
    chosen = random.Random(session.pk)  # noqa: S311
    for number in range(1, POINTS_A_SESSION + 1):
        yield InjectionEntry(
            session=session, number=number, unit=unit, view=View.FRONT,
            x_dmm=chosen.randrange(-600, 600), y_dmm=chosen.randrange(-400, 1_000),
            chart_version=CHART_VERSION, region=chosen.choice(REGIONS),
            side=chosen.choice([Side.LEFT, Side.RIGHT]),
            relative_x_permille=chosen.randrange(1_000),
            relative_y_permille=chosen.randrange(1_000), plane=chosen.choice(PLANES),
            technique=Technique.BOLUS, instrument=Instrument.NEEDLE, gauge=27, length_mm=13,
            aspiration=Aspiration.NEGATIVE, amount=AMOUNT,
            tapped_at=session.started_at + timedelta(minutes=number), logged_by=session.injector,
        )  # fmt: skip


def _next_reviews(visits: Iterable[Appointment], now: datetime) -> dict[int, Appointment]:
    """The next visit for a review of each patient who has one before them."""
    found: dict[int, Appointment] = {}
    for visit in visits:
        if visit.kind == AppointmentKind.REVIEW and visit.starts_at > now:
            found.setdefault(visit.patient_id, visit)
    return found


def _fill_reviews(
    sessions: list[TreatmentSession], booked: dict[int, Appointment], desk: User, today: date
) -> None:
    """Those of the last two weeks are ahead; of the earlier ones every third still waits."""
    reviews = Review.objects.bulk_create(
        _review(number, session, booked, desk, today) for number, session in enumerate(sessions)
    )
    ReviewAsk.objects.bulk_create(
        ReviewAsk(review=review, session_id=review.session_id) for review in reviews
    )
    ReviewDate.objects.bulk_create(
        ReviewDate(
            review=review, earliest_on=review.earliest_on, due_on=review.due_on,
            latest_on=review.latest_on, cause=DateCause.SCHEDULED, reason=review.rule,
            at=review.session.signed_at, by=review.session.injector,
        )
        for review in reviews
    )  # fmt: skip
    ContactAttempt.objects.bulk_create(
        ContactAttempt(
            review=review, way="phone", outcome="no_answer", at=review.session.signed_at, by=desk,
        )
        for review in reviews
        if review.closed_at is None and review.due_on < today
    )  # fmt: skip


def _review(
    number: int, session: TreatmentSession, booked: dict[int, Appointment], desk: User, today: date
) -> Review:
    due_on = timezone.localdate(session.started_at) + REVIEW_AFTER
    review = Review(
        patient_id=session.patient_id, session=session, earliest_on=due_on - SUITS_BEFORE,
        due_on=due_on, latest_on=due_on + SUITS_AFTER,
        rule="14 days after the session (clinic policy)",
    )  # fmt: skip
    if due_on < today and number % 3:
        review.closed_at, review.closed_by = session.signed_at + REVIEW_AFTER, desk
        review.outcome = ReviewOutcome.DONE
    elif number % 2:
        review.appointment = booked.get(session.patient_id)
    return review

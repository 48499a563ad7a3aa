"""How far the day's list has got, from the records themselves: seven queries."""

from dataclasses import dataclass

from django.db.models import Exists, OuterRef, Q, QuerySet

from planning.follow_up import Standing
from records.adverse_events.models import AdverseEvent
from records.appointments.enums import AppointmentState
from records.appointments.models import start_of
from records.follow_up.queries.events import events_of
from records.follow_up.queries.found import Asked
from records.follow_up.queries.work_list import FollowUp, reached_since
from records.follow_up.queries.worries import worries_of
from records.recalls.models import CaseContact, CasePatient
from records.recalls.queries.people import REACHING
from records.reminders.enums import MessageState
from records.reminders.models import Answer, Message
from records.reviews.models import Review, booked_from


@dataclass(frozen=True, slots=True)
class DayProgress:
    """
    Attributes:
        settled: closed, booked or reached today, of those who were waiting for it.
        left: still to be turned to today.
    """

    settled: int
    left: int

    @property
    def total(self) -> int:
        return self.settled + self.left

    @property
    def percent(self) -> int:
        """Whole percent, rounded down: 100 only when nobody is left."""
        return 100 * self.settled // self.total if self.total else 0


def progress_of_day(followed: FollowUp) -> DayProgress:
    """
    Of the list in question, without its filters by kind and standing.

    What came onto the list in the course of the day counts as well. A review whose visit was
    arranged on an earlier day never was on it, and does not count when that visit takes place.
    """
    asked, midnight = followed.asked, start_of(followed.asked.on)
    reached = reached_since(midnight, followed.everything)
    waiting = sum(standing is not Standing.BOOKED for standing, _ in followed.everything)
    gone = (
        _reviews_closed(asked).count()
        + _reviews_booked(asked).count()
        + _events_closed(asked).count()
        + worries_of(asked).filter(settled_at__gte=midnight).count()
        + _settled(Message.objects.filter(state=MessageState.SETTLED), asked)
        + _settled(Answer.objects.all(), asked)
        + (_people_told(asked).count() if asked.injector_id is None else 0)
    )
    return DayProgress(settled=gone + reached, left=waiting - reached)


def _reviews_closed(asked: Asked) -> QuerySet[Review]:
    """Closed today, but for those whose visit of today or later was arranged before."""
    midnight = start_of(asked.on)
    arranged_before = booked_from(asked.on) & (
        Q(booked_at__lt=midnight) | Q(booked_at__isnull=True)
    )
    closed = Review.objects.filter(closed_at__gte=midnight, due_on__lte=asked.until)
    return _of_injector(closed.exclude(arranged_before), asked)


def _reviews_booked(asked: Asked) -> QuerySet[Review]:
    """Open ones that a visit to come was arranged for today."""
    midnight = start_of(asked.on)
    booked = Review.objects.still_open().due_until(asked.until).filter(booked_at__gte=midnight)
    came = Q(appointment__state=AppointmentState.DONE)
    return _of_injector(booked.filter(booked_from(asked.on)).exclude(came), asked)


def _of_injector(reviews: QuerySet[Review], asked: Asked) -> QuerySet[Review]:
    if asked.injector_id is None:
        return reviews
    return reviews.filter(session__injector=asked.injector_id)


def _events_closed(asked: Asked) -> QuerySet[AdverseEvent]:
    return events_of(asked).filter(closed_at__gte=start_of(asked.on))


def _settled(came_back: QuerySet, asked: Asked) -> int:
    """Messages or answers that the desk settled today."""
    settled = came_back.filter(settled_at__gte=start_of(asked.on))
    if asked.injector_id is None:
        return settled.count()
    whose = Q(appointment__practitioner=asked.injector_id)
    if came_back.model is Message:
        whose |= Q(review__session__injector=asked.injector_id)
    return settled.filter(whose).count()


def _people_told(asked: Asked) -> QuerySet[CasePatient]:
    """People of open recalls who were reached today and not before."""
    midnight = start_of(asked.on)
    reached = CaseContact.objects.filter(person=OuterRef("pk"), outcome__in=REACHING)
    return CasePatient.objects.filter(
        Exists(reached.filter(at__gte=midnight)),
        ~Exists(reached.filter(at__lt=midnight)),
        case__closed_at__isnull=True,
        case__is_drill=False,
    )

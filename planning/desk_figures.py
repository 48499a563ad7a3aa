"""
The figures of the front desk: what each counts, over what, and when a percentage says nothing.

Shares are exact fractions; a percentage over fewer than LEAST is not given.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from fractions import Fraction

from planning.intervals import ConfidenceInterval, wilson
from planning.vocabulary import Term

LEAST = 5
"""Common practice, no source: one more or less would move the percentage by 20 or more."""
LATE = timedelta(hours=24)
"""Common practice, no source: what is free a day ahead can often be given to somebody else."""


class Figure(Term):
    """What is reported, in the order of the page."""

    UTILISATION = "utilisation", "Utilisation"
    NO_SHOWS = "no_shows", "No-shows"
    LATE_CANCELLATIONS = "late_cancellations", "Late cancellations"
    REVIEWS_IN_TIME = "reviews_in_time", "Reviews in time"
    DAYS_TO_REVIEW = "days_to_review", "Days to review"

    @property
    def above(self) -> str:
        """What is counted: the numerator, or of which the median is."""
        return _DEFINITIONS[self][0]

    @property
    def below(self) -> str:
        """Over what: the denominator, or who counts."""
        return _DEFINITIONS[self][1]

    @property
    def remark(self) -> str:
        return _DEFINITIONS[self][2]


_DEFINITIONS = {
    Figure.UTILISATION: (
        "minutes of visits that took place, without preparation and buffer",
        "minutes in which practitioners worked: their hours less breaks, absences, closures and "
        "public holidays",
        "Above 100 % where patients were seen outside the hours.",
    ),
    Figure.NO_SHOWS: (
        "visits to which the patient did not come",
        "these and the visits that took place",
        "Cancelled visits count on neither side.",
    ),
    Figure.LATE_CANCELLATIONS: (
        "visits cancelled less than 24 hours before their start",
        "these, the visits that took place and those to which the patient did not come",
        "Cancellations made earlier count on neither side.",
    ),
    Figure.REVIEWS_IN_TIME: (
        "reviews done by their last day",
        "all reviews whose last day has passed on these days, less the excused ones",
        "A review counts on the day it was marked as done.",
    ),
    Figure.DAYS_TO_REVIEW: (
        "days from a treatment to its first review that was done",
        "all treatments of these days that ask for a review",
        "Treatments whose review is still open count for the days waited so far, excused ones for "
        "the days until then.",
    ),
}


@dataclass(frozen=True, slots=True)
class Share:
    """`part` of `whole`, counts of visits or reviews."""

    part: int
    whole: int

    def __post_init__(self) -> None:
        if not 0 <= self.part <= self.whole:
            raise ValueError(f"{self.part} is no part of {self.whole}.")

    @property
    def is_too_few(self) -> bool:
        return self.whole < LEAST

    @property
    def rate(self) -> Fraction | None:
        """None where too few are counted for a percentage."""
        return None if self.is_too_few else Fraction(self.part, self.whole)

    @property
    def interval(self) -> ConfidenceInterval | None:
        """Wilson's, 95 %; None like `rate`."""
        return None if self.is_too_few else wilson(self.part, self.whole)


@dataclass(frozen=True, slots=True)
class VisitCounts:
    """
    Visits of some days and what became of them.

    Attributes:
        unmarked: over, and nobody has said what became of them.
        minutes: of those that took place.
        working_minutes: of the practitioners; None where no hours belong to what is counted.
    """

    took_place: int = 0
    did_not_attend: int = 0
    cancelled_late: int = 0
    cancelled_early: int = 0
    unmarked: int = 0
    minutes: int = 0
    working_minutes: int | None = None

    def __add__(self, other: VisitCounts) -> VisitCounts:
        hours = [own for own in (self.working_minutes, other.working_minutes) if own is not None]
        return VisitCounts(
            self.took_place + other.took_place,
            self.did_not_attend + other.did_not_attend,
            self.cancelled_late + other.cancelled_late,
            self.cancelled_early + other.cancelled_early,
            self.unmarked + other.unmarked,
            self.minutes + other.minutes,
            sum(hours) if hours else None,
        )

    @property
    def visits(self) -> int:
        """All of them, whatever became of them."""
        cancelled = self.cancelled_late + self.cancelled_early
        return self.took_place + self.did_not_attend + cancelled + self.unmarked

    @property
    def utilisation(self) -> Fraction | None:
        """None where nobody worked, or hours do not belong to it."""
        return Fraction(self.minutes, self.working_minutes) if self.working_minutes else None

    @property
    def no_shows(self) -> Share:
        return Share(self.did_not_attend, self.did_not_attend + self.took_place)

    @property
    def late_cancellations(self) -> Share:
        return Share(
            self.cancelled_late, self.cancelled_late + self.did_not_attend + self.took_place
        )


def is_late(cancelled_at: datetime | None, starts_at: datetime) -> bool:
    """Whether a visit was cancelled late; one that nobody knows the moment of was not."""
    return cancelled_at is not None and starts_at - cancelled_at < LATE


@dataclass(frozen=True, slots=True)
class ReviewCounts:
    """Reviews whose last day has passed, by how they ended (`Ending`)."""

    in_time: int = 0
    late: int = 0
    still_open: int = 0
    excused: int = 0

    @property
    def in_time_share(self) -> Share:
        return Share(self.in_time, self.in_time + self.late + self.still_open)


class Ending(Term):
    """How a review whose last day has passed ended; the names of the counts."""

    IN_TIME = "in_time", "In time"
    LATE = "late", "Done late"
    STILL_OPEN = "still_open", "Still open"
    EXCUSED = "excused", "Excused"


def ending_of(*, is_excused: bool, closed_on: date | None, latest_on: date) -> Ending:
    if closed_on is None:
        return Ending.STILL_OPEN
    if is_excused:
        return Ending.EXCUSED
    return Ending.IN_TIME if closed_on <= latest_on else Ending.LATE

"""Stretches of days that a report is about: a month, a quarter, a year, or days of choice."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from planning.vocabulary import Term

QUARTER_MONTHS, YEAR_MONTHS = 3, 12


class Span(Term):
    MONTH = "month", "Month"
    QUARTER = "quarter", "Quarter"
    YEAR = "year", "Year"
    DAYS = "days", "Days"

    @property
    def months(self) -> int:
        """How many; 0 for days of choice."""
        return {Span.MONTH: 1, Span.QUARTER: QUARTER_MONTHS, Span.YEAR: YEAR_MONTHS}.get(self, 0)


@dataclass(frozen=True, slots=True)
class Stretch:
    """Days of the calendar, both ends included."""

    first: date
    last: date
    span: Span = Span.DAYS

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise ValueError("The last day lies before the first one.")

    @property
    def days(self) -> int:
        return (self.last - self.first).days + 1

    @property
    def key(self) -> str:
        """ "2026-11", "2026-Q4", "2026" or "2026-11-02..2026-11-08"."""
        match self.span:
            case Span.MONTH:
                return f"{self.first:%Y-%m}"
            case Span.QUARTER:
                return f"{self.first:%Y}-Q{self._quarter}"
            case Span.YEAR:
                return f"{self.first:%Y}"
        return f"{self.first}..{self.last}"

    @property
    def label(self) -> str:
        """ "November 2026", "October to December 2026", "2026" or the days."""
        match self.span:
            case Span.MONTH:
                return f"{self.first:%B %Y}"
            case Span.QUARTER:
                return f"{self.first:%B} to {self.last:%B %Y}"
            case Span.YEAR:
                return f"{self.first:%Y}"
        return f"{_in_words(self.first)} to {_in_words(self.last)}"

    @property
    def _quarter(self) -> int:
        return (self.first.month - 1) // QUARTER_MONTHS + 1

    def before(self) -> Stretch:
        """The calendar's stretch of the same kind before it, or as many days right before."""
        end = self.first - timedelta(days=1)
        if self.span is Span.DAYS:
            return Stretch(self.first - timedelta(days=self.days), end)
        return around(end, self.span)


def around(day: date, span: Span) -> Stretch:
    """
    The calendar's month, quarter or year that `day` lies in.

    Raises:
        ValueError: days of choice, which the calendar does not know.
    """
    if not span.months:
        raise ValueError("Days of choice lie around no day.")
    first = date(day.year, (day.month - 1) // span.months * span.months + 1, 1)
    return Stretch(first, months_after(first, span.months) - timedelta(days=1), span)


def latest(day: date, span: Span, count: int) -> Iterator[Stretch]:
    """The stretch that `day` lies in and those before it, `count` in all, the latest first."""
    stretch = around(day, span)
    for _ in range(count):
        yield stretch
        stretch = stretch.before()


def months_after(first: date, count: int) -> date:
    """The first day of the month `count` months after that of `first`; before it if negative."""
    number = first.year * YEAR_MONTHS + first.month - 1 + count
    return date(number // YEAR_MONTHS, number % YEAR_MONTHS + 1, 1)


def _in_words(day: date) -> str:
    return f"{day.day} {day:%B %Y}"

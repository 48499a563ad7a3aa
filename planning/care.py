"""
What a patient had elsewhere, or before: procedures, fillers, toxin; and days known only in part.
"""

from __future__ import annotations

from calendar import monthrange
from dataclasses import dataclass
from datetime import date

from planning.vocabulary import ProductKind, Term


class CareKind(Term):
    VACCINE = "vaccine", "Vaccine"
    DENTAL = "dental", "Dental work"
    SKIN = "skin", "Laser or peel"
    SURGERY = "surgery", "Surgery"
    FILLER = "filler", "Filler elsewhere"
    TOXIN = "toxin", "Toxin elsewhere"


class FillerFamily(Term):
    """What a filler is made of, as far as it matters to the next one in the same place."""

    HA = "ha", "Hyaluronic acid"
    OTHER = "other", "Another that is absorbed"
    PERMANENT = "permanent", "Permanent"
    UNKNOWN = "unknown", "Not known"

    @classmethod
    def of(cls, kind: ProductKind) -> FillerFamily:
        """Of a filler the clinic injects."""
        return cls.HA if kind is ProductKind.HA_FILLER else cls.OTHER


class Precision(Term):
    """How much of a day somebody remembers."""

    DAY = "day", "The day"
    MONTH = "month", "The month"
    YEAR = "year", "The year"
    UNKNOWN = "unknown", "Not known"


@dataclass(frozen=True, slots=True)
class PartialDay:
    """
    A day as far as it is known. `first` is the first day it can have been; None if nothing is.
    """

    first: date | None
    precision: Precision = Precision.DAY

    def __post_init__(self) -> None:
        if (self.first is None) != (self.precision is Precision.UNKNOWN):
            raise ValueError("A day that is not known has no date, and any other has one.")

    @property
    def last(self) -> date | None:
        """The last day it can have been: the cautious reading of "how long ago"."""
        if self.first is None or self.precision is Precision.DAY:
            return self.first
        month = 12 if self.precision is Precision.YEAR else self.first.month
        return date(self.first.year, month, monthrange(self.first.year, month)[1])

    def days_before(self, today: date) -> int | None:
        """Fewest days that can lie between it and `today`; None if the day is not known."""
        return None if self.last is None else max(0, (today - self.last).days)

    def told_before(self, today: date) -> str:
        """
        "1 day before", "as few as 25 days before" where only month or year is known; "" if nothing.
        """
        days = self.days_before(today)
        if days is None:
            return ""
        least = "" if self.precision is Precision.DAY else "as few as "
        return f"{least}{days} day{'' if days == 1 else 's'} before"

    def __str__(self) -> str:
        """ "on 2026-03-05", "in 2026-03", "in 2026", "on a day not known"."""
        if self.first is None:
            return "on a day not known"
        shown = self.first.isoformat()
        return {
            Precision.MONTH: f"in {shown[:7]}",
            Precision.YEAR: f"in {shown[:4]}",
        }.get(self.precision, f"on {shown}")


@dataclass(frozen=True, slots=True)
class CareElsewhere:
    """
    One thing a patient had elsewhere, as the patient tells it.

    Attributes:
        region: key of the region of a filler or toxin; "" if not known.
        family: of a filler.
        centiunits: of a toxin whose units are known. Of which preparation is not.
    """

    kind: CareKind
    when: PartialDay
    region: str = ""
    family: FillerFamily = FillerFamily.UNKNOWN
    centiunits: int | None = None


@dataclass(frozen=True, slots=True)
class EarlierFiller:
    """A filler this clinic gave in a region in an earlier session, the latest of its product."""

    region: str
    family: FillerFamily
    product_label: str
    on: date

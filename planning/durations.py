"""
How long an effect lasts, as a range of months, and when it may be treated again.

Only what a text supports stands here; for everything else the clinic fills in its own figures, and
until it does nothing is drawn. A range tells what is usual and promises nothing for one patient.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from dateutil.relativedelta import relativedelta

from planning.atlas.region_groups import RegionGroup
from planning.sources import TOXIN_DURATION, Source
from planning.vocabulary import ProductKind


class DurationError(ValueError):
    """A range that is none."""


@dataclass(frozen=True, slots=True)
class TypicalDuration:
    """
    Attributes:
        group: the part of the body it is known for; None for all of them.
        least_months, most_months: 1 <= least <= most.
    """

    kind: ProductKind
    group: RegionGroup | None
    least_months: int
    most_months: int
    source: Source

    def __post_init__(self) -> None:
        if not 1 <= self.least_months <= self.most_months:
            raise DurationError("A range of months starts at 1 or more and ends no earlier.")

    def fading(self, treated_on: date) -> tuple[date, date]:
        """From when to when the effect usually goes; month ends are clipped."""
        least, most = (relativedelta(months=n) for n in (self.least_months, self.most_months))
        return treated_on + least, treated_on + most

    @property
    def months_text(self) -> str:
        """ "3 to 4 months"."""
        if self.least_months == self.most_months:
            return f"{self.most_months} month{'' if self.most_months == 1 else 's'}"
        return f"{self.least_months} to {self.most_months} months"


PUBLISHED = (
    # Of frown lines, which lie in the upper face.
    TypicalDuration(ProductKind.TOXIN, RegionGroup.UPPER_FACE, 3, 4, TOXIN_DURATION),
)


def duration_for(
    known: Iterable[TypicalDuration], kind: ProductKind, group: RegionGroup
) -> TypicalDuration | None:
    """
    The range of that very part, else that of the kind as a whole, else a published one of the part;
    None where nobody said.
    """
    of_kind = [one for one in known if one.kind is kind]
    ordered = [
        *(one for one in of_kind if one.group is group),
        *(one for one in of_kind if one.group is None),
        *(one for one in PUBLISHED if (one.kind, one.group) == (kind, group)),
    ]
    return ordered[0] if ordered else None


def next_treatment(
    treated_on: date, duration: TypicalDuration, *, not_before: date | None = None
) -> tuple[date, date]:
    """
    The days in which a next treatment usually falls: those of the fading, none of them before the
    clinic's shortest interval has passed, which ends with `not_before`.
    """
    first, last = duration.fading(treated_on)
    return (max(first, not_before), max(last, not_before)) if not_before else (first, last)

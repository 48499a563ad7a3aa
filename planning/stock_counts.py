"""
What a stock count found, unit by unit: what people saw beside what the books say.

The books are read when the count is posted, not when it began. Whatever happened to a unit after
somebody saw it, or, where nobody did, after the count began, is no difference: the shelf was looked
at before, and the ledger knows better. Only unopened units are counted.

Source: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import Enum


class Whereabouts(Enum):
    """Where the books have a unit, as seen from the place that is counted."""

    HERE = "unopened, and it lies here"
    ELSEWHERE = "unopened, and it lies elsewhere or was put nowhere"
    OPENED = "opened"
    GONE = "missing at a count before, returned or written off"


class Finding(Enum):
    """What follows for a unit."""

    AS_EXPECTED = "seen where it is by the books"
    MISSING = "by the books it lies here, and nobody saw it"
    MOVED = "seen here, by the books it lies elsewhere"
    FOUND = "seen here, by the books it is gone"
    OPENED = "seen here, and opened: it is not counted"
    ELSEWHERE = "seen, and it lies elsewhere by the books, as is right"
    CHANGED = "something happened to it since: no difference"
    NOT_ASKED = "neither seen nor expected"

    @property
    def is_difference(self) -> bool:
        """Whether the books have to be changed, and somebody has to say why."""
        return self in (Finding.MISSING, Finding.MOVED, Finding.FOUND)


@dataclass(frozen=True, slots=True)
class Standing:
    """
    One unit.

    Attributes:
        where: by the books, now.
        changed_at: when it last was received, opened, moved, thrown away, found ...; draws and
            waste do not count.
        seen_at: when somebody saw it in this count; None if nobody did.
    """

    where: Whereabouts
    changed_at: datetime
    seen_at: datetime | None = None


def judge(unit: Standing, *, started_at: datetime, has_place: bool) -> Finding:
    """
    What the count says of one unit.

    Args:
        started_at: when the count began.
        has_place: whether one place is counted. What was seen in a count of the whole stock, or of
            what was put nowhere, does not say where a unit lies.
    """
    if unit.seen_at is None:
        return _unseen(unit, started_at)
    if unit.changed_at > unit.seen_at:
        return Finding.CHANGED
    if unit.where is Whereabouts.ELSEWHERE:
        return Finding.MOVED if has_place else Finding.ELSEWHERE
    return {
        Whereabouts.HERE: Finding.AS_EXPECTED,
        Whereabouts.OPENED: Finding.OPENED,
        Whereabouts.GONE: Finding.FOUND,
    }[unit.where]


def _unseen(unit: Standing, started_at: datetime) -> Finding:
    if unit.where is not Whereabouts.HERE:
        return Finding.NOT_ASKED
    return Finding.CHANGED if unit.changed_at > started_at else Finding.MISSING

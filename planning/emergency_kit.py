"""
Whether what a clinic keeps against an emergency is there and in date.

A clinic says for each thing how much it keeps at least. Counted is what is on the shelf and still
usable: `covered_until` is the last day on which that is enough if nothing is used or received.
Amounts are in any one base unit, days are whole days; the printed expiry day is usable itself.

Source: that a clinic is able to deal with emergencies is asked for (`EMERGENCY_ABILITY`); how much
of what that takes is the clinic's own decision, and local codes come first.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from planning.vocabulary import Term


class KitError(ValueError):
    """An amount or a span of days that cannot be."""


class KitState(Term):
    """How one thing of the kit stands."""

    MISSING = "missing", "Missing"
    RUNS_OUT = "runs_out", "Expires soon"
    BY_HAND = "by_hand", "Look at it"
    READY = "ready", "There and in date"

    @property
    def needs_somebody(self) -> bool:
        return self in (KitState.MISSING, KitState.RUNS_OUT)


@dataclass(frozen=True, slots=True)
class Batch:
    """So much of it that expires on one day."""

    expires_on: date
    amount: int


@dataclass(frozen=True, slots=True)
class KitCover:
    """
    Attributes:
        on_hand: what is in date.
        short_by: what is missing up to the minimum; 0 if nothing is.
        covered_until: last day on which what is on hand is enough; None if it is not today.
    """

    on_hand: int
    short_by: int
    covered_until: date | None
    state: KitState


def kit_cover(
    *, minimum: int, batches: Iterable[Batch], today: date, warning_days: int
) -> KitCover:
    """
    What the shelf covers of the minimum.

    Args:
        minimum: in the unit of the batches; > 0.
        warning_days: so many days ahead an end is pointed out; the last of them is, too.

    Raises:
        KitError: a minimum that asks for nothing, a negative amount or a negative span.
    """
    if minimum <= 0 or warning_days < 0:
        raise KitError("A minimum is more than nothing, and a warning comes no later than its day.")
    in_date = [batch for batch in batches if batch.expires_on >= today]
    if any(batch.amount < 0 for batch in in_date):
        raise KitError("There cannot be less than nothing on a shelf.")
    on_hand = sum(batch.amount for batch in in_date)
    if on_hand < minimum:
        return KitCover(on_hand, minimum - on_hand, None, KitState.MISSING)
    until = _covered_until(minimum, in_date)
    return KitCover(on_hand, 0, until, _state_by(until, today, warning_days))


def kept_by_hand(*, expires_on: date | None, today: date, warning_days: int) -> KitState:
    """Of a thing that is in no stock book: what its expiry says, or that somebody has to look."""
    if expires_on is None:
        return KitState.BY_HAND
    if expires_on < today:
        return KitState.MISSING
    return _state_by(expires_on, today, warning_days)


def _covered_until(minimum: int, batches: list[Batch]) -> date:
    """The expiry of the batch without which, once it has gone, the later ones are not enough."""
    later = 0
    for batch in sorted(batches, key=lambda batch: batch.expires_on, reverse=True):
        later += batch.amount
        if later >= minimum:
            return batch.expires_on
    raise AssertionError("the batches were counted before")


def _state_by(until: date, today: date, warning_days: int) -> KitState:
    ends_soon = until <= today + timedelta(days=warning_days)
    return KitState.RUNS_OUT if ends_soon else KitState.READY

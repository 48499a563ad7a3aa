"""
When a consent holds: the time to think after the consultation, and what became of the answer.

Moments are aware and in the clinic's own zone, of which calendar days are read.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from planning.vocabulary import ProductKind, Term


class ConsentKind(Term):
    """What a patient is asked to agree to, each with a text of its own."""

    TOXIN = "toxin", "Toxin"
    FILLER = "filler", "Filler"
    HYALURONIDASE = "hyaluronidase", "Hyaluronidase, elective"
    PHOTOGRAPHS = "photographs", "Photographs for the record"
    TEACHING = "teaching", "Photographs for teaching"

    @property
    def products(self) -> frozenset[ProductKind]:
        """The kinds of product it is asked for; none for photographs."""
        return _PRODUCTS.get(self, frozenset())

    @property
    def has_cooling_off(self) -> bool:
        """
        Whether a patient is left time before the first treatment. Not before hyaluronidase, which
        undoes one and may be urgent.
        """
        return self in (ConsentKind.TOXIN, ConsentKind.FILLER)


_PRODUCTS: dict[ConsentKind, frozenset[ProductKind]] = {
    ConsentKind.TOXIN: frozenset({ProductKind.TOXIN}),
    ConsentKind.FILLER: frozenset({ProductKind.HA_FILLER, ProductKind.OTHER_FILLER}),
    ConsentKind.HYALURONIDASE: frozenset({ProductKind.HYALURONIDASE}),
}


def kinds_for(products: Iterable[ProductKind]) -> list[ConsentKind]:
    """Which consents a treatment with these kinds of product asks for."""
    given = frozenset(products)
    return [kind for kind in ConsentKind if kind.products & given]


class Outcome(Term):
    """What came of asking. A refusal and a treatment the clinic declines are records too."""

    GIVEN = "given", "Consent given"
    REFUSED = "refused", "The patient refused"
    DECLINED = "declined", "The clinic declined to treat"


class ConsentState(Term):
    """How it stands with one kind of consent at one moment."""

    NONE = "none", "Not asked yet"
    VALID = "valid", "In force"
    COOLING_OFF = "cooling_off", "In cooling-off"
    RAN_OUT = "ran_out", "Ran out"
    TEXT_CHANGED = "text_changed", "The text has changed"
    WITHDRAWN = "withdrawn", "Withdrawn"
    REFUSED = "refused", "Refused"
    DECLINED = "declined", "Treatment declined"


@dataclass(frozen=True, slots=True)
class CoolingOff:
    """
    The end of the time to think, in both readings.

    Attributes:
        full_at: after so many full days of 24 hours.
        day: so many calendar days on, from its first moment.
    """

    full_at: datetime
    day: date

    @property
    def ends_at(self) -> datetime:
        """The later of both readings, which is the cautious one."""
        first_moment = datetime.combine(self.day, time.min, tzinfo=self.full_at.tzinfo)
        return max(self.full_at, first_moment, key=_in_utc)


def _in_utc(moment: datetime) -> datetime:
    """Two moments of one zone would be compared by the clock on the wall, which goes back."""
    return moment.astimezone(UTC)


def cooling_off(discussed_at: datetime, days: int) -> CoolingOff:
    """
    When a treatment may begin that was discussed at a moment.

    Raises:
        ValueError: a moment without a zone, or less than no days.
    """
    if discussed_at.tzinfo is None:
        raise ValueError("A cooling-off time needs the zone of the clock.")
    if days < 0:
        raise ValueError(f"A cooling-off time of {days} days is none.")
    full_at = (discussed_at.astimezone(UTC) + timedelta(days=days)).astimezone(discussed_at.tzinfo)
    return CoolingOff(full_at, discussed_at.date() + timedelta(days=days))


@dataclass(frozen=True, slots=True)
class Answer:
    """
    The latest answer of a patient about one kind.

    Attributes:
        has_current_text: whether its text is the one in force.
        valid_until: the last day on which it holds; None of a refusal.
        not_before: the end of the cooling-off time; None where there is none.
    """

    outcome: Outcome
    has_current_text: bool
    valid_until: date | None = None
    not_before: datetime | None = None
    is_withdrawn: bool = False


def state_of(answer: Answer | None, at: datetime) -> ConsentState:
    """How it stands at a moment; what no time mends is said before what it does."""
    if answer is None:
        return ConsentState.NONE
    if answer.outcome is not Outcome.GIVEN:
        refused = answer.outcome is Outcome.REFUSED
        return ConsentState.REFUSED if refused else ConsentState.DECLINED
    if answer.is_withdrawn:
        return ConsentState.WITHDRAWN
    if answer.valid_until is not None and at.date() > answer.valid_until:
        return ConsentState.RAN_OUT
    if not answer.has_current_text:
        return ConsentState.TEXT_CHANGED
    if answer.not_before is not None and _in_utc(at) < _in_utc(answer.not_before):
        return ConsentState.COOLING_OFF
    return ConsentState.VALID

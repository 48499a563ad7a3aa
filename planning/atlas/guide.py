"""
What is usual and what to beware of in each region: one value an entry, each with its source.

`GuideEntry` is one value. The compilation that comes with the tool is `planning.atlas.compilation`;
the clinic lays its own values over it (`merged`). Advice for licensed judgement, never a rule.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from planning.amounts import format_amount
from planning.atlas.regions import Region
from planning.sources import Source
from planning.vocabulary import Instrument, Measure, Plane, Technique, Term


class Kind(Term):
    """What an entry tells about its region, in the order of the page."""

    PLANE = "plane", "Usual plane"
    TECHNIQUE = "technique", "Usual technique"
    INSTRUMENT = "instrument", "Usual instrument"
    AMOUNT = "amount", "Usual amount"
    STRUCTURE = "structure", "Structures to beware of"
    CAUTION = "caution", "Cautions"
    HINT = "hint", "Hints"

    @property
    def terms(self) -> type[Term] | None:
        """The words one of which such an entry names; None where it is told in free words."""
        return _TERMS.get(self)


_TERMS: dict[Kind, type[Term]] = {
    Kind.PLANE: Plane,
    Kind.TECHNIQUE: Technique,
    Kind.INSTRUMENT: Instrument,
}
WORDED = (Kind.STRUCTURE, Kind.CAUTION, Kind.HINT)
"""Kinds told in free words alone."""


class Use(Term):
    """What is injected where the entry holds."""

    ANY = "any", "Any product"
    FILLER = "filler", "Filler"
    TOXIN = "toxin", "Toxin"

    @property
    def measure(self) -> Measure:
        return Measure.DOSE if self is Use.TOXIN else Measure.VOLUME


class Per(Term):
    """What a usual amount is counted for."""

    POINT = "point", "a point"
    SIDE = "side", "a side"
    SESSION = "session", "a session, both sides"


@dataclass(frozen=True, slots=True)
class GuideEntry:
    """
    One value for one region.

    Attributes:
        key: names the entry for good; the clinic's own values say which key they replace.
        term: the key of a plane, technique or instrument, else "".
        text: the words of a structure, caution or hint; beside a term or an amount, what else to
            know of it, or "".
        least, most: a usual amount in microlitres (filler) or hundredths of a unit (toxin); `least`
            is None where only one figure is known, `most` where the entry is no amount.
        per: what the amount is counted for.
        substance: the generic toxin the amount holds for, else "".
    """

    key: str
    region: Region
    kind: Kind
    use: Use
    source: Source
    term: str = ""
    text: str = ""
    least: int | None = None
    most: int | None = None
    per: Per | None = None
    substance: str = ""

    @property
    def words(self) -> str:
        """The value as the page says it: "Supraperiosteal", "0.5 to 0.6 mL for a side"."""
        if self.per is not None:
            return f"{self.amount} for {self.per.label}"
        if self.kind.terms is not None:
            return self.kind.terms(self.term).label
        return self.text

    @property
    def amount(self) -> str:
        """The usual amount alone, "0.5 to 0.6 mL"; "" where the entry is none."""
        if self.most is None:
            return ""
        shown = format_amount(self.most, self.use.measure, no_break=True)
        if self.least is None or self.least == self.most:
            return shown
        least = format_amount(self.least, self.use.measure, no_break=True)
        return f"{least.split()[0]} to {shown}"

    @property
    def remark(self) -> str:
        """What else to know of it, "" where the words say all."""
        return "" if self.kind in WORDED else self.text


class Origin(Term):
    """Whose value it is."""

    SUPPLIED = "supplied", "Supplied"
    CLINIC = "clinic", "Clinic’s own"
    WITHDRAWN = "withdrawn", "Withdrawn"


@dataclass(frozen=True, slots=True)
class Change:
    """
    What the clinic decided about one value.

    Attributes:
        entry: the clinic's value; for a withdrawal its source says why, and the rest is not used.
        replaces: the key of the supplied entry it stands for, "" for a value of its own.
        withdraws: the supplied entry holds no more, and nothing takes its place.
        row: how the clinic's books name it.
    """

    entry: GuideEntry
    replaces: str = ""
    withdraws: bool = False
    row: int = 0


@dataclass(frozen=True, slots=True)
class AtlasValue:
    """One line of the clinic's atlas: what holds, whose it is, and what it stands in for."""

    entry: GuideEntry
    origin: Origin
    supplied: GuideEntry | None = None
    row: int = 0
    reason: str = ""

    @property
    def holds(self) -> bool:
        return self.origin is not Origin.WITHDRAWN


def merged(guide: Iterable[GuideEntry], changes: Iterable[Change]) -> tuple[AtlasValue, ...]:
    """
    The clinic's values laid over the supplied ones, by region and kind as both are ordered.

    A value that replaces a key takes its place; one whose key is no longer supplied stands as the
    clinic's own, and a withdrawal of such a key has nothing left to withdraw.
    """
    left = list(changes)
    by_key = {change.replaces: change for change in left if change.replaces}
    values: list[AtlasValue] = []
    for supplied in guide:
        change = by_key.pop(supplied.key, None)
        values.append(_laid_over(supplied, change))
    stand_alone = [change for change in left if not change.replaces or change.replaces in by_key]
    values += [
        AtlasValue(change.entry, Origin.CLINIC, row=change.row)
        for change in stand_alone
        if not change.withdraws
    ]
    return tuple(sorted(values, key=_place))


def _laid_over(supplied: GuideEntry, change: Change | None) -> AtlasValue:
    if change is None:
        return AtlasValue(supplied, Origin.SUPPLIED)
    if change.withdraws:
        reason = change.entry.source.detail
        return AtlasValue(supplied, Origin.WITHDRAWN, supplied, change.row, reason)
    return AtlasValue(change.entry, Origin.CLINIC, supplied, change.row)


_REGIONS, _KINDS = list(Region), list(Kind)


def _place(value: AtlasValue) -> tuple[int, int]:
    """Its place on the page; a sort that is stable keeps the rest as it came."""
    return _REGIONS.index(value.entry.region), _KINDS.index(value.entry.kind)


def standing(values: Iterable[AtlasValue]) -> tuple[GuideEntry, ...]:
    """The entries that hold."""
    return tuple(value.entry for value in values if value.holds)

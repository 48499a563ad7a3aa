"""Amounts of a region: usual filler, the totals of a toxin's label, and what no figure covers."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

from planning.amounts import format_amount
from planning.flags import Flag, FlagLevel, SessionFacts, SessionPoint
from planning.limits.entries import CONFIRM_OR_CORRECT
from planning.reference_ranges import (
    COUNTED_WITH,
    LABEL_TOTALS,
    Per,
    RegionRange,
    toxin_named_in,
)
from planning.sources import NO_SOURCE
from planning.totals import total_amount
from planning.vocabulary import Measure

Groups = Iterator[list[SessionPoint]]


def region_flags(facts: SessionFacts) -> Iterator[Flag]:
    """Filler against the usual amount of its region: of a point, a side, or the whole session."""
    for points in _by_region(facts.fillers):
        usual = facts.settings.region_ranges.get(points[0].region)
        if usual is None:
            continue
        for group in _counted(points, usual.per):
            amount = total_amount(group)
            if amount > usual.most_ul:
                yield _region_flag(group, amount, usual, FlagLevel.QUESTION, "above")
            elif usual.least_ul is not None and amount < usual.least_ul:
                yield _region_flag(group, amount, usual, FlagLevel.NOTE, "below")


def _region_flag(
    points: list[SessionPoint], amount: int, usual: RegionRange, level: FlagLevel, where: str
) -> Flag:
    most = _shown(usual.most_ul, Measure.VOLUME)
    least = f"{_shown(usual.least_ul, Measure.VOLUME)} to " if usual.least_ul is not None else ""
    return Flag(
        "region-amount",
        level,
        f"{_place(points[0], usual.per)}: {_shown(amount, Measure.VOLUME)} is {where} the usual "
        f"{least}{most} for {usual.per.label}.",
        CONFIRM_OR_CORRECT,
        usual.source,
        _numbers(points),
    )


def label_total_flags(facts: SessionFacts) -> Iterator[Flag]:
    """Toxin against the total its label gives for a region, both sides together."""
    groups: dict[tuple[str, str], list[SessionPoint]] = defaultdict(list)
    for point in facts.points:
        toxin = toxin_named_in(point.substance) if point.is_toxin else None
        if toxin:
            groups[toxin, COUNTED_WITH.get(point.region, point.region)].append(point)
    for key, points in groups.items():
        label = LABEL_TOTALS.get(key)
        # Packs of two sizes are two products of one toxin, so their units may be added here.
        amount = sum(point.amount for point in points)
        if label and amount > label.centiunits:
            yield Flag(
                "label-total",
                FlagLevel.QUESTION,
                f"{label.region.label}: {_shown(amount, Measure.DOSE)} is above the "
                f"{_shown(label.centiunits, Measure.DOSE)} of the label.",
                CONFIRM_OR_CORRECT,
                label.source,
                _numbers(points),
            )


def uncovered_flags(facts: SessionFacts) -> Iterator[Flag]:
    """One note for the filler and one for the toxin that no reference amount covers."""
    filler = [p for p in facts.fillers if p.region not in facts.settings.region_ranges]
    toxin = [
        p
        for p in facts.toxins
        if (toxin_named_in(p.substance), COUNTED_WITH.get(p.region, p.region)) not in LABEL_TOTALS
    ]
    for word, points in (("filler", filler), ("toxin", toxin)):
        if points:
            regions = ", ".join(dict.fromkeys(point.region_label for point in points))
            yield Flag(
                f"no-reference-{word}",
                FlagLevel.NOTE,
                f"No reference amount for this {word} in: {regions}.",
                "Nothing was compared there; judge by the label of the product in hand.",
                NO_SOURCE,
                _numbers(points),
            )


def _by_region(points: Iterable[SessionPoint]) -> Groups:
    groups: dict[str, list[SessionPoint]] = defaultdict(list)
    for point in points:
        groups[point.region].append(point)
    yield from groups.values()


def _counted(points: list[SessionPoint], per: Per) -> Groups:
    """The points of one region as its usual amount counts them, in order of appearance."""
    if per is Per.SESSION:
        yield points
        return
    groups: dict[object, list[SessionPoint]] = defaultdict(list)
    for point in points:
        groups[point.side if per is Per.SIDE else point.number].append(point)
    yield from groups.values()


def _numbers(points: Iterable[SessionPoint]) -> tuple[int, ...]:
    return tuple(point.number for point in points)


def _place(point: SessionPoint, per: Per) -> str:
    side = "" if per is Per.SESSION else f", {point.side.label.lower()}"
    return f"{point.region_label}{side}"


def _shown(amount: int, measure: Measure) -> str:
    return format_amount(amount, measure)

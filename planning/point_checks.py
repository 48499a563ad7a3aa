"""
Checks of single entries and of regions: slips of the hand, planes, usual amounts, label totals.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

from planning.amounts import format_amount
from planning.atlas.regions import Region
from planning.flags import Flag, FlagLevel, SessionFacts, SessionPoint
from planning.reference_ranges import (
    COUNTED_WITH,
    LABEL_TOTALS,
    REGION_RANGES,
    Per,
    RegionRange,
    toxin_named_in,
)
from planning.sources import FILLER_TISSUE, NO_SOURCE, PLANE_QUESTIONS, PLAUSIBLE_ENTRY
from planning.totals import total_amount
from planning.vocabulary import Measure, Plane, Side

CONFIRM_OR_CORRECT = "Correct the entry, or leave it if that is what was injected."


def slip_flags(facts: SessionFacts) -> Iterator[Flag]:
    """Amounts in one point that are more often typed than injected."""
    for point in facts.points:
        if point.is_filler:
            most = facts.settings.ask_filler_point_ul
        elif point.is_toxin:
            most = facts.settings.ask_toxin_point_centiunits
        else:
            continue
        if point.amount > most:
            yield Flag(
                "large-point",
                FlagLevel.QUESTION,
                f"Point {point.number}: {_shown(point.amount, point.measure)} in one place; "
                f"above {_shown(most, point.measure)} is asked about.",
                CONFIRM_OR_CORRECT,
                PLAUSIBLE_ENTRY,
                (point.number,),
            )


def plane_flags(facts: SessionFacts) -> Iterator[Flag]:
    """Planes that do not go with the product or region."""
    for point in facts.points:
        if point.is_toxin and point.plane is Plane.SUPRAPERIOSTEAL:
            source, what = PLANE_QUESTIONS, "toxin on the bone"
        elif (
            point.is_filler
            and point.plane is Plane.INTRAMUSCULAR
            and point.region == Region.GLABELLA
        ):
            source, what = FILLER_TISSUE, "filler in the muscle of the glabella"
        else:
            continue
        yield Flag(
            "plane",
            FlagLevel.QUESTION,
            f"Point {point.number}: {what}.",
            CONFIRM_OR_CORRECT,
            source,
            (point.number,),
        )


def region_flags(facts: SessionFacts) -> Iterator[Flag]:
    """Filler against the usual amount of its region."""
    for points in _grouped(point for point in facts.points if point.is_filler):
        usual = REGION_RANGES.get(points[0].region)
        if usual is None:
            continue
        counted = [[point] for point in points] if usual.per is Per.POINT else [points]
        for group in counted:
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
        f"{_place(points[0])}: {_shown(amount, Measure.VOLUME)} is {where} the usual "
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
    filler = [p for p in facts.points if p.is_filler and p.region not in REGION_RANGES]
    toxin = [
        p
        for p in facts.points
        if p.is_toxin
        and (toxin_named_in(p.substance), COUNTED_WITH.get(p.region, p.region)) not in LABEL_TOTALS
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


def _grouped(points: Iterable[SessionPoint]) -> Iterator[list[SessionPoint]]:
    """The points of each region and side, in order of appearance."""
    groups: dict[tuple[str, Side], list[SessionPoint]] = defaultdict(list)
    for point in points:
        groups[point.region, point.side].append(point)
    yield from groups.values()


def _numbers(points: Iterable[SessionPoint]) -> tuple[int, ...]:
    return tuple(point.number for point in points)


def _place(point: SessionPoint) -> str:
    return f"{point.region_label}, {point.side.label.lower()}"


def _shown(amount: int, measure: Measure) -> str:
    return format_amount(amount, measure)

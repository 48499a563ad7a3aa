"""Checks of single entries: slips of the hand, and planes that do not go with the product."""

from __future__ import annotations

from collections.abc import Iterator

from planning.amounts import format_amount
from planning.atlas.regions import Region
from planning.flags import Flag, FlagLevel, SessionFacts
from planning.plausibility import ASK_ABOVE
from planning.sources import FILLER_TISSUE, PLANE_QUESTIONS, PLAUSIBLE_ENTRY
from planning.vocabulary import Plane

CONFIRM_OR_CORRECT = "Correct the entry, or leave it if that is what was injected."


def slip_flags(facts: SessionFacts) -> Iterator[Flag]:
    """Amounts in one point that are more often typed than injected, and that nobody confirmed."""
    for point in facts.points:
        most = ASK_ABOVE.get(point.kind)
        if most is not None and point.amount > most and not point.confirmed:
            yield Flag(
                "large-point",
                FlagLevel.QUESTION,
                f"Point {point.number}: {format_amount(point.amount, point.measure)} in one place; "
                f"above {format_amount(most, point.measure)} is asked about.",
                CONFIRM_OR_CORRECT,
                PLAUSIBLE_ENTRY,
                (point.number,),
            )


def confirmed_flags(facts: SessionFacts) -> Iterator[Flag]:
    """Amounts that were asked about when they were typed, and confirmed."""
    for point in facts.points:
        if point.confirmed:
            yield Flag(
                "confirmed-amount",
                FlagLevel.NOTE,
                f"Point {point.number}: {point.confirmed} Confirmed by {point.confirmed_by}.",
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

"""
Is an amount likely a slip of the hand? Asked once, at entry; the person decides, never the rule.

A point slipped, millilitres typed for units, more than the whole unit holds. The figures are chosen
to catch such slips and limit nothing (`sources.PLAUSIBLE_ENTRY`). The tablet repeats this module in
`static/js/charting/plausibility.js`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from planning.amounts import format_amount
from planning.vocabulary import Measure, ProductKind

FEWEST_FOR_USUAL = 5
"""Of fewer amounts nobody can say what is usual."""
MANY_TIMES = 8
"""So many times the usual amount, or so small a part of it, is nearly always a slipped point."""
ASK_ABOVE = {
    ProductKind.HA_FILLER: 1_000,
    ProductKind.OTHER_FILLER: 1_000,
    ProductKind.TOXIN: 2_000,
}
"""In one place, microlitres or centiunits, where no usual amount says otherwise."""
LEAST_TOXIN_CENTIUNITS = 50
"""Less than half a unit in one place is more often the millilitres of a syringe."""
DILUENT_BETWEEN_UL = (500, 10_000)
"""The published dilutions take 1 to 5 mL."""
OTHER_STRENGTH = 2
"""Twice or half the usual diluent makes half or twice the strength."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """
    What is asked about an amount.

    Attributes:
        text: one sentence with what is usual and what was typed.
        instead: the amount that was probably meant; None where that cannot be guessed.
    """

    text: str
    instead: int | None = None


def usual_of(amounts: Sequence[int]) -> int | None:
    """The middle one of the amounts given lately, the lower of two; None if they are too few."""
    if len(amounts) < FEWEST_FOR_USUAL:
        return None
    return sorted(amounts)[(len(amounts) - 1) // 2]


def amount_doubt(
    amount: int,
    *,
    kind: ProductKind,
    content: int = 0,
    usual: int | None = None,
    diluent_ul: int | None = None,
) -> Doubt | None:
    """
    What to ask about the amount of one point, or None.

    Args:
        amount: microlitres or centiunits, by the kind; > 0.
        content: of the whole unit of stock; 0 if not known.
        usual: as `usual_of` the product.
        diluent_ul: what a vial was made up with; None if not known.
    """
    measure = kind.measure
    typed = f"typed: {format_amount(amount, measure)}."
    if content and amount > content:
        held = format_amount(content, measure)
        return Doubt(f"The whole unit holds {held}; {typed}", _slipped(amount, usual or content))
    if kind is ProductKind.TOXIN and amount < LEAST_TOXIN_CENTIUNITS:
        as_volume = _dose_in(amount, content, diluent_ul, usual)
        if as_volume is not None:
            volume = format_amount(amount * 10, Measure.VOLUME)
            held = format_amount(as_volume, measure)
            return Doubt(f"{volume} of this vial holds {held}; {typed}", as_volume)
    if usual and (amount >= MANY_TIMES * usual or amount * MANY_TIMES <= usual):
        return Doubt(
            f"Usual here: {format_amount(usual, measure)}; {typed}", _slipped(amount, usual)
        )
    if kind is ProductKind.TOXIN and amount < LEAST_TOXIN_CENTIUNITS and not usual:
        return Doubt(f"Units are asked for, not mL; {typed}")
    most = ASK_ABOVE.get(kind)
    if most is not None and amount > most and (not usual or amount > 2 * usual):
        return Doubt(f"More than {format_amount(most, measure)} in one place is rare; {typed}")
    return None


def diluent_doubt(diluent_ul: int, *, usual_ul: int | None = None) -> Doubt | None:
    """
    What to ask about the volume a vial is made up with, in microlitres, or None.

    Source of the span: dilution tables of onabotulinumtoxinA (`sources.TOXIN_DILUTION`).
    """
    typed = f"typed: {format_amount(diluent_ul, Measure.VOLUME)}."
    least, most = DILUENT_BETWEEN_UL
    if usual_ul and (diluent_ul >= OTHER_STRENGTH * usual_ul or diluent_ul * 2 <= usual_ul):
        shown = format_amount(usual_ul, Measure.VOLUME)
        return Doubt(
            f"Usual here for this product: {shown}; {typed} The strength changes with it.",
            usual_ul,
        )
    if not usual_ul and not least <= diluent_ul <= most:
        return Doubt(f"Published dilutions take 1 mL to 5 mL; {typed}", _slipped(diluent_ul, 2_500))
    return None


def _dose_in(amount: int, content: int, diluent_ul: int | None, usual: int | None) -> int | None:
    """Centiunits that a toxin's amount stands for if its number was millilitres of this vial."""
    if not content or not diluent_ul:
        return None
    dose = Fraction(amount * 10 * content, diluent_ul)
    if dose.denominator != 1 or dose > content:
        return None
    if usual and not usual <= 2 * dose <= 4 * usual:
        return None
    return int(dose)


def _slipped(amount: int, usual: int) -> int | None:
    """The amount with its point one place on, if that comes near the usual one."""
    candidates = [amount * 10] if amount < usual else [amount // 10] if amount % 10 == 0 else []
    return next((each for each in candidates if usual <= 3 * each <= 9 * usual), None)

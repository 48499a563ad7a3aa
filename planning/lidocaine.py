"""
Lidocaine: strength, the most a body weight allows, and the sum of every source in a session.

Amounts are integers (micrograms, microlitres, grams) and exact fractions in between. A permitted
amount is rounded down, a given one is never rounded.

Source: lidocaine hydrochloride for injection, US prescribing information (`LIDOCAINE_LABEL`).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil

from planning.sources import LIDOCAINE_LABEL, Source


class LidocaineError(ValueError):
    """A strength, weight or volume that cannot be."""


@dataclass(frozen=True, slots=True)
class LidocaineLimits:
    """Most lidocaine for a healthy adult: micrograms per kilogram, and a cap in micrograms."""

    plain_ug_per_kg: int = 4_500
    plain_cap_ug: int = 300_000
    epinephrine_ug_per_kg: int = 7_000
    epinephrine_cap_ug: int = 500_000
    source: Source = LIDOCAINE_LABEL


US_LABEL = LidocaineLimits()


@dataclass(frozen=True, slots=True)
class LidocaineSource:
    """
    One product that brings lidocaine into the session: an anaesthetic, or the part inside a filler.
    """

    label: str
    volume_ul: int
    ug_per_ml: int
    with_epinephrine: bool = False

    def __post_init__(self) -> None:
        if self.volume_ul < 0 or self.ug_per_ml < 0:
            raise LidocaineError(f"{self.label}: volume and strength cannot be negative.")

    @property
    def dose_ug(self) -> Fraction:
        """Micrograms, exact."""
        return Fraction(self.volume_ul * self.ug_per_ml, 1000)


def ug_per_ml_from_percent(percent: int | str | Decimal | Fraction) -> int:
    """
    Micrograms per millilitre of a solution given in per cent; 1 % is 10 mg/mL.

    Raises:
        LidocaineError: a float, not a number, not above 0, above 100, or finer than a microgram.
    """
    if isinstance(percent, float):
        raise LidocaineError("Give the per cent as text, such as 0.5: a float is not exact.")
    try:
        strength = Fraction(percent) * 10_000
    except (ValueError, OverflowError, ZeroDivisionError) as error:
        raise LidocaineError(f"{percent!r} is not a number of per cent.") from error
    if not 0 < strength <= 1_000_000 or strength.denominator != 1:
        raise LidocaineError(f"{percent} % is not a strength: type a number such as 0.5, 1 or 2.")
    return int(strength)


def epinephrine_ug_per_ml(one_in: int) -> Fraction:
    """Micrograms per millilitre of a dilution "1 in n": 1 in 100,000 is 10."""
    if one_in <= 0:
        raise LidocaineError("A dilution is 1 in a positive number.")
    return Fraction(1_000_000, one_in)


def limit_by_weight_ug(
    weight_g: int, *, with_epinephrine: bool, limits: LidocaineLimits = US_LABEL
) -> int:
    """
    Most lidocaine in micrograms for this weight in grams: by kilogram, or the cap if that is lower.

    Raises:
        LidocaineError: weight not above 0. A missing weight is not zero; ask for it.
    """
    if weight_g <= 0:
        raise LidocaineError("The weight must be above 0.")
    per_kg = limits.epinephrine_ug_per_kg if with_epinephrine else limits.plain_ug_per_kg
    return min(weight_g * per_kg // 1000, cap_ug(with_epinephrine=with_epinephrine, limits=limits))


def cap_ug(*, with_epinephrine: bool, limits: LidocaineLimits = US_LABEL) -> int:
    """The limit in micrograms that holds for any weight."""
    return limits.epinephrine_cap_ug if with_epinephrine else limits.plain_cap_ug


def permitted_volume_ul(limit_ug: int, ug_per_ml: int, *, step_ul: int = 1) -> int:
    """Largest volume in microlitres that stays within the limit, rounded down to whole steps."""
    if ug_per_ml <= 0 or step_ul <= 0 or limit_ug < 0:
        raise LidocaineError("Strength and step must be above 0, the limit not negative.")
    return limit_ug * 1000 // ug_per_ml // step_ul * step_ul


def format_mg(ug: int | Fraction) -> str:
    """Micrograms as "202.5 mg", a part of a microgram counted as a whole one."""
    return f"{Decimal(ceil(ug)).scaleb(-3).normalize():,f} mg"


def total_ug(sources: Iterable[LidocaineSource]) -> Fraction:
    """Lidocaine of all sources together, micrograms, exact. Every source counts."""
    return sum((source.dose_ug for source in sources), Fraction(0))


def has_epinephrine_throughout(sources: Iterable[LidocaineSource]) -> bool:
    """
    Whether the higher limit may be used: only if every source that brings lidocaine has
    epinephrine.

    The label does not say how to treat a mixture; the lower limit is the cautious reading.
    """
    bringing = [source for source in sources if source.dose_ug]
    return bool(bringing) and all(source.with_epinephrine for source in bringing)

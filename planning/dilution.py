"""How strong a vial is once it is made up."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil

TENTH_MILLILITRE_UL = 100


class DilutionError(ValueError):
    """Content or diluent is not a positive amount."""


def centiunits_per_tenth_ml(content: int, diluent_ul: int) -> Fraction:
    """
    What 0.1 mL of a made-up vial holds, in hundredths of a unit, exact.

    Args:
        content: hundredths of a unit in the whole vial; > 0.
        diluent_ul: microlitres it was made up with; > 0. The powder's own volume is neglected, as
            in the tables of the product information.

    Raises:
        DilutionError: either is not positive.

    Source: reconstitution tables of onabotulinumtoxinA, 100 units with 2.5 mL and 50 units with
    1.25 mL: 4 units per 0.1 mL.
    """
    if content <= 0 or diluent_ul <= 0:
        raise DilutionError("Content and diluent are amounts above 0.")
    return Fraction(content * TENTH_MILLILITRE_UL, diluent_ul)


def diluent_ul_for(content: int, per_tenth_ml: int) -> Fraction:
    """
    How much diluent gives a strength, in microlitres, exact: the other way round.

    Args:
        content: hundredths of a unit in the whole vial; > 0.
        per_tenth_ml: hundredths of a unit that 0.1 mL is to hold; > 0.

    Raises:
        DilutionError: either is not positive.
    """
    if content <= 0 or per_tenth_ml <= 0:
        raise DilutionError("Content and strength are amounts above 0.")
    return Fraction(content * TENTH_MILLILITRE_UL, per_tenth_ml)


def volume_ul_for(dose: int, *, content: int, diluent_ul: int) -> Fraction:
    """
    What is drawn up for a dose, in microlitres, exact.

    Args:
        dose: hundredths of a unit; > 0. More than the vial holds has a volume too: the caller asks
            for the second vial.

    Raises:
        DilutionError: a dose, content or diluent that is not positive.
    """
    if dose <= 0:
        raise DilutionError("A dose is an amount above 0.")
    return dose * TENTH_MILLILITRE_UL / centiunits_per_tenth_ml(content, diluent_ul)


@dataclass(frozen=True, slots=True)
class Drawn:
    """
    A dose as a syringe can hold it.

    Attributes:
        volume_ul: at a marking of the syringe.
        dose: hundredths of a unit that this volume holds, exact.
        is_exact: whether the planned dose falls on a marking.
    """

    volume_ul: int
    dose: Fraction
    is_exact: bool


def at_marking(dose: int, *, content: int, diluent_ul: int, marking_ul: int) -> Drawn:
    """
    The marking of the syringe that comes closest to a dose; of two as close, the lower one.

    Args:
        marking_ul: from one line of the syringe to the next, such as 10 for 0.01 mL.

    Raises:
        DilutionError: an amount or a marking that is not positive.
    """
    if marking_ul <= 0:
        raise DilutionError("The markings of a syringe are some way apart.")
    exact = volume_ul_for(dose, content=content, diluent_ul=diluent_ul)
    lines = exact / marking_ul
    nearest = ceil(lines - Fraction(1, 2))
    volume = nearest * marking_ul
    held = volume * centiunits_per_tenth_ml(content, diluent_ul) / TENTH_MILLILITRE_UL
    return Drawn(volume, held, is_exact=volume == exact)


@dataclass(frozen=True, slots=True)
class Vial:
    """
    A vial as it was made up: hundredths of a unit and microlitres of diluent, both > 0.

    Raises:
        DilutionError: either is not positive.
    """

    content: int
    diluent_ul: int

    def __post_init__(self) -> None:
        centiunits_per_tenth_ml(self.content, self.diluent_ul)

    @property
    def per_tenth_ml(self) -> Fraction:
        """Hundredths of a unit in 0.1 mL, exact."""
        return centiunits_per_tenth_ml(self.content, self.diluent_ul)

    def volume_ul(self, dose: int) -> Fraction:
        """Microlitres that hold a dose in hundredths of a unit, exact."""
        return volume_ul_for(dose, content=self.content, diluent_ul=self.diluent_ul)

    def drawn(self, dose: int, marking_ul: int) -> Drawn:
        """The dose at the nearest line of a syringe; see `at_marking`."""
        return at_marking(
            dose, content=self.content, diluent_ul=self.diluent_ul, marking_ul=marking_ul
        )

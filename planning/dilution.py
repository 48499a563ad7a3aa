"""How strong a vial is once it is made up."""

from __future__ import annotations

from fractions import Fraction

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

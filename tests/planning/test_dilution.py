"""The strength of a made-up vial."""

from fractions import Fraction

import pytest

from planning.dilution import DilutionError, centiunits_per_tenth_ml


@pytest.mark.parametrize(
    ("units", "diluent_ul", "units_per_tenth_ml"),
    [
        # Dilution guides of onabotulinumtoxinA (cosmetic US label): both vials at 4 units.
        (50, 1_250, 4),
        (100, 2_500, 4),
        # By arithmetic from the same content.
        (100, 1_000, 10),
        (100, 4_000, Fraction(5, 2)),
        (50, 2_500, 2),  # a small vial made up like a large one: half the strength
        (100, 3_000, Fraction(10, 3)),  # stays exact
    ],
)
def test_units_in_a_tenth_of_a_millilitre(units, diluent_ul, units_per_tenth_ml):
    assert centiunits_per_tenth_ml(units * 100, diluent_ul) == units_per_tenth_ml * 100


@pytest.mark.parametrize(("content", "diluent_ul"), [(0, 2500), (10_000, 0), (10_000, -1)])
def test_nothing_is_no_strength(content, diluent_ul):
    with pytest.raises(DilutionError):
        centiunits_per_tenth_ml(content, diluent_ul)

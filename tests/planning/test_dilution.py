"""Strength of a made-up vial, the diluent for a strength, and what is drawn up for a dose."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.dilution import (
    DilutionError,
    at_marking,
    centiunits_per_tenth_ml,
    diluent_ul_for,
    volume_ul_for,
)

# Units of the vial, diluent in mL, units in 0.1 mL, units in 1 mL, mL for 4 and for 20 units.
# The first two rows: dilution guides of onabotulinumtoxinA (US cosmetic label); the others are
# arithmetic from the same contents.
PUBLISHED = [
    (50, "1.25", "4", "40", "0.1", "0.5"),
    (100, "2.5", "4", "40", "0.1", "0.5"),
]
ARITHMETIC = [
    (100, "1", "10", "100", "0.04", "0.2"),
    (100, "2", "5", "50", "0.08", "0.4"),
    (100, "4", "2.5", "25", "0.16", "0.8"),
    (100, "5", "2", "20", "0.2", "1"),
    (50, "2.5", "2", "20", "0.2", "1"),  # a small vial made up like a large one: half the strength
    (100, "1.25", "8", "80", "0.05", "0.25"),  # double the strength
    (200, "5", "4", "40", "0.1", "0.5"),
]


@pytest.mark.parametrize("row", [*PUBLISHED, *ARITHMETIC], ids=lambda row: f"{row[0]} in {row[1]}")
def test_the_dilution_table(row):
    units, diluent, per_tenth, per_ml, for_4, for_20 = map(Fraction, row)
    vial = {"content": int(units * 100), "diluent_ul": int(diluent * 1000)}
    assert centiunits_per_tenth_ml(**vial) == per_tenth * 100
    assert centiunits_per_tenth_ml(**vial) * 10 == per_ml * 100
    assert volume_ul_for(400, **vial) == for_4 * 1000
    assert volume_ul_for(2_000, **vial) == for_20 * 1000
    assert diluent_ul_for(vial["content"], int(per_tenth * 100)) == vial["diluent_ul"]


# Pattern of the US cosmetic label, highlights 2019: total units and mL at 4 units in 0.1 mL.
@pytest.mark.parametrize(
    ("units", "ul"), [(20, 500), (24, 600), (40, 1_000), (64, 1_600)],
    ids=["glabellar lines", "lateral canthal lines", "forehead with glabellar lines", "all three"],
)  # fmt: skip
def test_volumes_of_the_label(units, ul):
    assert volume_ul_for(units * 100, content=10_000, diluent_ul=2_500) == ul


def test_a_third_stays_exact():
    assert centiunits_per_tenth_ml(10_000, 3_000) == Fraction(1_000, 3)
    assert volume_ul_for(400, content=10_000, diluent_ul=3_000) == 120


@pytest.mark.parametrize(
    ("dose", "diluent_ul", "marking_ul", "volume_ul", "held"),
    [
        (400, 2_500, 10, 100, 400),  # on a line
        (250, 2_500, 10, 60, 240),  # 62.5: 60 is closer than 70
        (250, 2_500, 25, 50, 200),  # 62.5 lies half way: the lower one
        (100, 1_000, 20, 0, 0),  # 10 of 20 lies half way: less than the first line
    ],
)
def test_a_dose_is_drawn_to_a_line_of_the_syringe(dose, diluent_ul, marking_ul, volume_ul, held):
    drawn = at_marking(dose, content=10_000, diluent_ul=diluent_ul, marking_ul=marking_ul)
    assert (drawn.volume_ul, drawn.dose) == (volume_ul, held)
    assert drawn.is_exact == (held == dose)


@given(
    st.integers(1, 50_000), st.integers(1, 50_000), st.integers(1, 20_000),
    st.sampled_from([5, 10, 20, 25, 50, 100]),
)  # fmt: skip
def test_no_line_comes_closer(dose, content, diluent_ul, marking_ul):
    exact = volume_ul_for(dose, content=content, diluent_ul=diluent_ul)
    drawn = at_marking(dose, content=content, diluent_ul=diluent_ul, marking_ul=marking_ul)
    assert drawn.volume_ul % marking_ul == 0
    assert abs(drawn.volume_ul - exact) * 2 <= marking_ul
    assert drawn.dose * diluent_ul == drawn.volume_ul * content


@pytest.mark.parametrize(("content", "diluent_ul"), [(0, 2500), (10_000, 0), (10_000, -1)])
def test_nothing_is_no_strength(content, diluent_ul):
    with pytest.raises(DilutionError):
        centiunits_per_tenth_ml(content, diluent_ul)
    with pytest.raises(DilutionError):
        volume_ul_for(400, content=content, diluent_ul=diluent_ul)


@pytest.mark.parametrize(("content", "strength"), [(0, 400), (10_000, 0), (-1, 400)])
def test_no_diluent_gives_nothing(content, strength):
    with pytest.raises(DilutionError):
        diluent_ul_for(content, strength)


def test_a_dose_and_a_marking_are_above_nothing():
    with pytest.raises(DilutionError):
        volume_ul_for(0, content=10_000, diluent_ul=2_500)
    with pytest.raises(DilutionError):
        at_marking(400, content=10_000, diluent_ul=2_500, marking_ul=0)

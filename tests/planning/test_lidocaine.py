"""
Lidocaine against the US prescribing information.

Limits per kilogram, caps and strengths are read there; the rows are computed from them.
"""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.lidocaine import (
    LidocaineError,
    LidocaineSource,
    epinephrine_ug_per_ml,
    format_mg,
    has_epinephrine_throughout,
    limit_by_weight_ug,
    permitted_volume_ul,
    total_ug,
    ug_per_ml_from_percent,
)

STRENGTHS = [
    ("0.3", 3_000, "part of a filler: 0.3 % is 3 mg/mL"),
    ("0.5", 5_000, "prescribing information, table"),
    ("1", 10_000, "prescribing information, table"),
    ("1.5", 15_000, "prescribing information, table"),
    ("2", 20_000, "prescribing information, table"),
]


@pytest.mark.parametrize(("percent", "ug_per_ml", "source"), STRENGTHS)
def test_per_cent_is_ten_milligrams_per_millilitre(
    percent: str, ug_per_ml: int, source: str
) -> None:
    assert ug_per_ml_from_percent(percent) == ug_per_ml, source
    assert ug_per_ml_from_percent(Decimal(percent)) == ug_per_ml


@pytest.mark.parametrize("percent", ["", "two", "0", "-1", "101", "0.00001", "NaN", "1/0", 0.5])
def test_what_is_not_a_strength_is_refused(percent: object) -> None:
    with pytest.raises(LidocaineError):
        ug_per_ml_from_percent(percent)  # type: ignore[arg-type]


def test_not_a_number_is_refused_as_a_decimal_too() -> None:
    with pytest.raises(LidocaineError):
        ug_per_ml_from_percent(Decimal("NaN"))


def test_epinephrine_dilutions() -> None:
    # Prescribing information, table: 1 in 100,000 is 10 mcg/mL, 1 in 200,000 is 5 mcg/mL.
    assert epinephrine_ug_per_ml(100_000) == 10
    assert epinephrine_ug_per_ml(200_000) == 5
    with pytest.raises(LidocaineError):
        epinephrine_ug_per_ml(0)


BY_WEIGHT = [
    # kg, most plain (ug), most with epinephrine (ug), plain uL at 0.5/1/2 %,
    # uL with epinephrine at 1/2 %, uL of a filler at 3 mg/mL
    (40, 180_000, 280_000, (36_000, 18_000, 9_000), (28_000, 14_000), 60_000),
    (45, 202_500, 315_000, (40_500, 20_250, 10_125), (31_500, 15_750), 67_500),
    (50, 225_000, 350_000, (45_000, 22_500, 11_250), (35_000, 17_500), 75_000),
    (60, 270_000, 420_000, (54_000, 27_000, 13_500), (42_000, 21_000), 90_000),
    (70, 300_000, 490_000, (60_000, 30_000, 15_000), (49_000, 24_500), 100_000),
    (80, 300_000, 500_000, (60_000, 30_000, 15_000), (50_000, 25_000), 100_000),
    (100, 300_000, 500_000, (60_000, 30_000, 15_000), (50_000, 25_000), 100_000),
]


@pytest.mark.parametrize(("kg", "plain", "with_epi", "plain_ul", "with_ul", "filler_ul"), BY_WEIGHT)
def test_the_limit_by_weight_and_the_volume_it_permits(
    kg: int,
    plain: int,
    with_epi: int,
    plain_ul: tuple[int, int, int],
    with_ul: tuple[int, int],
    filler_ul: int,
) -> None:
    assert limit_by_weight_ug(kg * 1000, with_epinephrine=False) == plain
    assert limit_by_weight_ug(kg * 1000, with_epinephrine=True) == with_epi
    assert tuple(permitted_volume_ul(plain, s) for s in (5_000, 10_000, 20_000)) == plain_ul
    assert tuple(permitted_volume_ul(with_epi, s) for s in (10_000, 20_000)) == with_ul
    assert permitted_volume_ul(plain, 3_000) == filler_ul


CAPS = [
    # grams on either side of where the cap begins: 66.67 kg and 71.43 kg
    (66_666, False, 299_997),
    (66_667, False, 300_000),
    (71_428, True, 499_996),
    (71_429, True, 500_000),
]


@pytest.mark.parametrize(("weight_g", "with_epinephrine", "limit"), CAPS)
def test_the_cap_holds_from_its_weight_on(
    weight_g: int, with_epinephrine: bool, limit: int
) -> None:
    assert limit_by_weight_ug(weight_g, with_epinephrine=with_epinephrine) == limit


def test_a_permitted_volume_is_rounded_down() -> None:
    # 45 kg, plain 2 %: 10.125 mL is shown as 10.12, never 10.13.
    assert permitted_volume_ul(202_500, 20_000, step_ul=10) == 10_120


def test_a_missing_weight_is_not_zero() -> None:
    with pytest.raises(LidocaineError):
        limit_by_weight_ug(0, with_epinephrine=False)


def test_every_source_counts() -> None:
    # 50 kg: four syringes of 1 mL at 3 mg/mL (12 mg) and 1.8 mL of 2 % (36 mg) are 48 mg.
    fillers = [LidocaineSource("Filler", 1_000, 3_000)] * 4
    block = LidocaineSource("Block", 1_800, 20_000, with_epinephrine=True)
    assert total_ug([*fillers, block]) == 48_000
    assert not has_epinephrine_throughout([*fillers, block])
    assert has_epinephrine_throughout([block, LidocaineSource("Filler without", 1_000, 0)])
    assert not has_epinephrine_throughout([])


def test_the_last_millilitre_goes_over_the_limit() -> None:
    # 60 kg, plain: 200 mg by injection and 60 mg in a gel are within 270 mg, 20 mg more are not.
    within = [LidocaineSource("2 %", 10_000, 20_000), LidocaineSource("Gel", 20_000, 3_000)]
    limit = limit_by_weight_ug(60_000, with_epinephrine=False)
    assert total_ug(within) == 260_000 <= limit
    assert total_ug([*within, LidocaineSource("2 %", 1_000, 20_000)]) == 280_000 > limit


def test_a_small_dose_stays_exact() -> None:
    assert LidocaineSource("Filler", 1, 3_333).dose_ug == Fraction(3_333, 1_000)


def test_milligrams_are_shown_without_trailing_zeros_or_exponents() -> None:
    # Joint Commission, Do Not Use list, 2018; ISMP list: comma at 1,000.
    shown = [format_mg(ug) for ug in (202_500, 300_000, 48_000, Fraction(7, 2), 1_000_000, 0)]
    assert shown == ["202.5 mg", "300 mg", "48 mg", "0.004 mg", "1,000 mg", "0 mg"]


def test_a_negative_volume_is_refused() -> None:
    with pytest.raises(LidocaineError):
        LidocaineSource("Block", -1, 20_000)


@given(st.integers(0, 600_000), st.integers(1, 100_000), st.sampled_from([1, 10, 50]))
def test_a_permitted_volume_never_exceeds_the_limit(limit: int, strength: int, step: int) -> None:
    volume = permitted_volume_ul(limit, strength, step_ul=step)
    assert Fraction(volume * strength, 1000) <= limit
    assert Fraction((volume + step) * strength, 1000) > limit

"""
Every published figure on limits that the planning service holds, by name and source.

Only what was read in a text is asserted as published; a figure from memory is asserted to be called
so. Rows marked "arithmetic" follow from the published ones. Subjects have tests of their own beside
this list.
"""

from datetime import date, timedelta
from fractions import Fraction

import pytest

from planning.amounts import AmountError, format_amount, parse_amount
from planning.atlas.regions import Region
from planning.dilution import Vial
from planning.dilution_table import ROWS
from planning.flags import OFFERED_FILLER_UL_PER_60_KG_YEAR, LimitSettings
from planning.lidocaine import (
    LidocaineSource,
    epinephrine_ug_per_ml,
    limit_by_weight_ug,
    permitted_volume_ul,
    total_ug,
    ug_per_ml_from_percent,
)
from planning.limits.people import FILLER_ADULT_YEARS
from planning.limits.toxins import LABEL_CEILING_CENTIUNITS, LABEL_INTERVAL_DAYS
from planning.plausibility import amount_doubt, diluent_doubt
from planning.reference_ranges import LABEL_TOTALS, ONABOTULINUM, REGION_RANGES
from planning.review_dates import Interval, IntervalUnit
from planning.sources import (
    FILLER_AGE,
    FILLER_YEARLY_VOLUME,
    LIDOCAINE_LABEL,
    OTHER_TOXINS_GLABELLA,
    TOXIN_CEILING,
    TOXIN_DILUTION,
    TOXIN_INTERVAL,
    TOXIN_LABEL_TOTALS,
    TOXIN_NOT_INTERCHANGEABLE,
    TOXIN_PLATYSMA,
    TOXIN_USE_WITHIN,
    Confidence,
)
from planning.vocabulary import Measure, ProductKind

PUBLISHED = [
    FILLER_AGE, LIDOCAINE_LABEL, OTHER_TOXINS_GLABELLA, TOXIN_CEILING, TOXIN_DILUTION,
    TOXIN_INTERVAL, TOXIN_LABEL_TOTALS, TOXIN_NOT_INTERCHANGEABLE, TOXIN_USE_WITHIN,
]  # fmt: skip


@pytest.mark.parametrize("source", PUBLISHED, ids=lambda source: source.title)
def test_what_was_read_is_called_published(source):
    assert source.confidence is Confidence.PUBLISHED


@pytest.mark.parametrize("source", [FILLER_YEARLY_VOLUME, TOXIN_PLATYSMA], ids=lambda s: s.title)
def test_what_was_not_read_is_called_from_memory(source):
    assert source.confidence is Confidence.MEMORY


# Fillers


def test_fillers_are_for_adults_of_22_years_or_older():
    """FDA page on dermal fillers."""
    assert FILLER_ADULT_YEARS == 22


def test_the_yearly_volume_is_offered_and_never_a_default():
    """The class statement could not be found in a text."""
    assert OFFERED_FILLER_UL_PER_60_KG_YEAR == 20_000
    assert LimitSettings().filler_ul_per_60_kg_year is None


def test_no_usual_amount_of_a_region_is_called_published():
    assert {row.source.confidence for row in REGION_RANGES.values()} == {Confidence.COMMON_PRACTICE}


def test_three_tenths_are_three_tenths():
    """0.1 three times is 0.30000000000000004 with floats."""
    assert sum(parse_amount(text, Measure.VOLUME) for text in ["0.1"] * 3) == 300


# Toxin

DILUTIONS = [
    # units of the vial, mL, units in 0.1 mL, in 1 mL, mL for 4 and for 20 units, published
    (50, "1.25", "4", 40, "0.1", "0.5", True),
    (100, "2.5", "4", 40, "0.1", "0.5", True),
    (100, "1", "10", 100, "0.04", "0.2", False),
    (100, "2", "5", 50, "0.08", "0.4", False),
    (100, "4", "2.5", 25, "0.16", "0.8", False),
    (100, "5", "2", 20, "0.2", "1", False),
    (50, "2.5", "2", 20, "0.2", "1", False),
    (100, "1.25", "8", 80, "0.05", "0.25", False),
    (200, "5", "4", 40, "0.1", "0.5", False),
]


def test_the_dilution_table_on_the_screen_is_the_published_one():
    """Two dilution guides of onabotulinumtoxinA; the rest is arithmetic and says so."""
    assert len(ROWS) == len(DILUTIONS)
    shown = {(row.vial, row.is_published): row for row in ROWS}
    for units, diluent, per_tenth, per_ml, for_4, for_20, is_published in DILUTIONS:
        vial = shown[Vial(units * 100, int(Fraction(diluent) * 1000)), is_published].vial
        assert vial.per_tenth_ml == Fraction(per_tenth) * 100
        assert vial.per_tenth_ml * 10 == per_ml * 100
        assert vial.volume_ul(400) == Fraction(for_4) * 1000
        assert vial.volume_ul(2_000) == Fraction(for_20) * 1000


@pytest.mark.parametrize(
    ("name", "units", "sites", "ml"),
    [
        ("glabellar lines", 20, 5, "0.5"),
        ("lateral canthal lines", 24, 6, "0.6"),
        ("forehead lines", 20, 5, "0.5"),
        ("forehead with glabellar lines", 40, 10, "1"),
        ("all three", 64, 16, "1.6"),
    ],
)
def test_patterns_of_the_label(name, units, sites, ml):
    """OnabotulinumtoxinA, US cosmetic label highlights 2019 and trial text: 4 units a site."""
    assert units == 4 * sites
    assert Vial(10_000, 2_500).volume_ul(units * 100) == Fraction(ml) * 1000


@pytest.mark.parametrize(
    ("toxin", "region", "units", "source"),
    [
        (ONABOTULINUM, Region.GLABELLA, 20, TOXIN_LABEL_TOTALS),
        (ONABOTULINUM, Region.LATERAL_CANTHAL, 24, TOXIN_LABEL_TOTALS),
        (ONABOTULINUM, Region.FOREHEAD, 20, TOXIN_LABEL_TOTALS),
        ("incobotulinumtoxina", Region.GLABELLA, 20, OTHER_TOXINS_GLABELLA),
        ("prabotulinumtoxina", Region.GLABELLA, 20, OTHER_TOXINS_GLABELLA),
        ("abobotulinumtoxina", Region.GLABELLA, 50, OTHER_TOXINS_GLABELLA),
    ],
)
def test_totals_of_the_labels(toxin, region, units, source):
    """US cosmetic label highlights 2019; J Drugs Dermatol 2021 for the other toxins."""
    label = LABEL_TOTALS[toxin, region]
    assert (label.centiunits, label.source) == (units * 100, source)


def test_the_published_totals_are_all_there_is_but_one_from_memory():
    others = {key: row for key, row in LABEL_TOTALS.items() if row.source is TOXIN_PLATYSMA}
    assert list(others) == [(ONABOTULINUM, Region.NECK)]
    assert len(LABEL_TOTALS) == 7


def test_treatments_are_at_least_90_days_apart():
    """Professional page. Dates: dateutil; 90 days and three months are not the same rule."""
    assert LABEL_INTERVAL_DAYS == LimitSettings().toxin_interval_days == 90
    days, months = timedelta(days=90), Interval(3, IntervalUnit.MONTH)
    first, second = date(2026, 12, 1), date(2026, 11, 25)
    assert first + days == months.after(first) == date(2027, 3, 1)
    assert (second + days, months.after(second)) == (date(2027, 2, 23), date(2027, 2, 25))


def test_400_units_in_three_months_over_all_indications():
    """US cosmetic label highlights, 2019."""
    assert LABEL_CEILING_CENTIUNITS == LimitSettings().toxin_ceiling_centiunits == 40_000


# Lidocaine: US prescribing information, maximum recommended dosages

WEIGHTS = [
    # kg, plain mg, mg with epinephrine, plain mL of 0.5, 1, 2 %, mL with it of 1, 2 %, mL of 0.3 %
    (40, "180", "280", ("36", "18", "9"), ("28", "14"), "60"),
    (45, "202.5", "315", ("40.5", "20.25", "10.125"), ("31.5", "15.75"), "67.5"),
    (50, "225", "350", ("45", "22.5", "11.25"), ("35", "17.5"), "75"),
    (60, "270", "420", ("54", "27", "13.5"), ("42", "21"), "90"),
    (70, "300", "490", ("60", "30", "15"), ("49", "24.5"), "100"),
    (80, "300", "500", ("60", "30", "15"), ("50", "25"), "100"),
    (100, "300", "500", ("60", "30", "15"), ("50", "25"), "100"),
]


@pytest.mark.parametrize("row", WEIGHTS, ids=lambda row: f"{row[0]} kg")
def test_lidocaine_by_weight(row):
    """4.5 mg/kg and 300 mg; with epinephrine 7 mg/kg and 500 mg. Millilitres: arithmetic."""
    kg, plain_mg, epi_mg, plain_ml, epi_ml, filler_ml = row
    plain = limit_by_weight_ug(kg * 1000, with_epinephrine=False)
    epi = limit_by_weight_ug(kg * 1000, with_epinephrine=True)
    assert (plain, epi) == (Fraction(plain_mg) * 1000, Fraction(epi_mg) * 1000)
    for percent, ml in zip(("0.5", "1", "2"), plain_ml, strict=True):
        assert permitted_volume_ul(plain, ug_per_ml_from_percent(percent)) == Fraction(ml) * 1000
    for percent, ml in zip(("1", "2"), epi_ml, strict=True):
        assert permitted_volume_ul(epi, ug_per_ml_from_percent(percent)) == Fraction(ml) * 1000
    assert permitted_volume_ul(plain, 3_000) == Fraction(filler_ml) * 1000


@pytest.mark.parametrize(
    ("below_g", "at_g", "epinephrine", "cap"),
    [(66_666, 66_667, False, 300_000), (71_428, 71_429, True, 500_000)],
)
def test_the_caps_bite_at_their_weight(below_g, at_g, epinephrine, cap):
    """Arithmetic: 300 ÷ 4.5 and 500 ÷ 7 kg."""
    assert limit_by_weight_ug(below_g, with_epinephrine=epinephrine) < cap
    assert limit_by_weight_ug(at_g, with_epinephrine=epinephrine) == cap


def test_a_permitted_volume_is_rounded_down():
    """10.125 mL to a hundredth is 10.12, never 10.13."""
    assert permitted_volume_ul(202_500, 20_000, step_ul=10) == 10_120


@pytest.mark.parametrize(
    ("percent", "mg"), [("0.3", 3), ("0.5", 5), ("1", 10), ("1.5", 15), ("2", 20)]
)
def test_per_cent_and_milligrams(percent, mg):
    """Table of the prescribing information; 0.3 % is what fillers hold."""
    assert ug_per_ml_from_percent(percent) == mg * 1000


@pytest.mark.parametrize(("one_in", "ug"), [(100_000, 10), (200_000, 5)])
def test_epinephrine_dilutions(one_in, ug):
    """The same table."""
    assert epinephrine_ug_per_ml(one_in) == ug


@pytest.mark.parametrize(
    ("sources", "mg"),
    [
        ([(4_000, 3_000), (1_800, 20_000)], 48),  # four syringes of filler and a block
        ([(10_000, 20_000), (20_000, 3_000)], 260),  # 60 kg: within 270 mg
        ([(11_000, 20_000), (20_000, 3_000)], 280),  # one more mL of 2 %: over
    ],
)
def test_every_source_of_lidocaine_counts(sources, mg):
    """Topical label: the dose contributed by all formulations. Sums: arithmetic."""
    assert total_ug(LidocaineSource("x", ul, strength) for ul, strength in sources) == mg * 1000


# Units against millilitres, as typed. Contents: US cosmetic label; traps: common practice

TOXIN, HA = ProductKind.TOXIN, ProductKind.HA_FILLER


def test_millilitres_are_refused_where_units_are_asked_for():
    with pytest.raises(AmountError, match="units, not mL"):
        parse_amount("20 mL", Measure.DOSE)
    with pytest.raises(AmountError, match="mL, not units"):
        parse_amount("20 units", Measure.VOLUME)


def test_a_volume_above_that_of_any_vial_is_asked_about():
    assert diluent_doubt(20_000)
    assert diluent_doubt(99_000)
    assert diluent_doubt(2_500) is diluent_doubt(1_250) is None


def test_ten_millilitres_of_filler_in_one_point_are_asked_about():
    assert amount_doubt(10_000, kind=HA, content=1_000)
    assert amount_doubt(1_000, kind=HA, content=1_000) is None


def test_more_than_the_vial_holds_is_asked_about():
    assert amount_doubt(10_100, kind=TOXIN, content=10_000)


@pytest.mark.parametrize(
    ("typed", "measure", "shown"),
    [
        (".05", Measure.VOLUME, "0.05 mL"),
        ("1.0 mL", Measure.VOLUME, "1 mL"),
        ("4.0 units", Measure.DOSE, "4 units"),
        ("0,1", Measure.VOLUME, "0.1 mL"),
        ("4U", Measure.DOSE, "4 units"),
        ("4 IU", Measure.DOSE, "4 units"),
        ("4cc", Measure.VOLUME, "4 mL"),
        ("0.50", Measure.VOLUME, "0.5 mL"),
        ("1.00", Measure.VOLUME, "1 mL"),
        ("10", Measure.VOLUME, "10 mL"),
        ("0.05", Measure.VOLUME, "0.05 mL"),
        ("1000", Measure.DOSE, "1,000 units"),
    ],
)
def test_error_prone_notation_is_read_and_never_shown(typed, measure, shown):
    """Joint Commission, Do Not Use list 2018; ISMP list, extract of 2006."""
    assert format_amount(parse_amount(typed, measure), measure) == shown


@pytest.mark.parametrize(
    "typed", ["5.", "1e3", "\uff11", "\u0663", "NaN", "Infinity", "-0.1", "0.1.2"]
)
def test_what_is_no_number_is_refused(typed):
    with pytest.raises(AmountError):
        parse_amount(typed, Measure.VOLUME)

"""
Flags of a session. Figures come from `planning.sources`; rows without one are plausibility only.
"""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.atlas.regions import Region
from planning.flags import FlagLevel, LimitSettings, SessionPoint, ToxinGiven
from planning.lidocaine import LidocaineSource
from planning.limits import session_flags
from planning.reference_ranges import toxin_named_in
from planning.sources import (
    FILLER_YEARLY_VOLUME,
    TOXIN_INTERVAL,
    Confidence,
)
from planning.vocabulary import Plane, ProductKind, Side
from tests.planning.limits.sessions import (
    OFFERED,
    ONABOTULINUM,
    TODAY,
    codes,
    facts,
    filler,
    only,
    point,
    toxin,
)


def test_an_ordinary_session_has_no_flags() -> None:
    assert session_flags(facts(filler(200), toxin(400))) == ()


def test_a_session_without_points_has_no_flags() -> None:
    assert session_flags(facts(age_years=None, weight_g=None)) == ()


def test_a_missing_age_and_weight_are_said_and_nothing_is_computed() -> None:
    session = facts(filler(), age_years=None, weight_g=None, filler_ul_last_year=99_000)
    assert codes(session) == ["age-missing", "weight-missing"]
    assert "the yearly filler volume was not checked" in session_flags(session)[1].text


def test_a_weight_nothing_needs_is_not_asked_for() -> None:
    assert codes(facts(toxin(), weight_g=None)) == []


@pytest.mark.parametrize(("age", "flagged"), [(21, True), (22, False)])
def test_fillers_are_approved_from_22_years(age: int, flagged: bool) -> None:
    # FDA page on dermal fillers: adults 22 years or older.
    assert codes(facts(filler(), age_years=age)) == (["age-filler"] if flagged else [])
    assert codes(facts(toxin(), age_years=age)) == []


@pytest.mark.parametrize(("age", "flagged"), [(17, True), (18, False)])
def test_the_clinics_own_minimum_age_is_its_policy(age: int, flagged: bool) -> None:
    session = facts(toxin(), age_years=age, settings=replace(OFFERED, minimum_age_years=18))
    assert codes(session) == (["age-policy"] if flagged else [])
    if flagged:
        assert only(session).source.confidence is Confidence.CLINIC_POLICY


YEARLY = [
    # kg and mL at 20 mL per 60 kg and year (from memory); the limit itself is still within.
    (40_000, 13_333, 13_334),
    (45_000, 15_000, 15_001),
    (50_000, 16_666, 16_667),
    (55_000, 18_333, 18_334),
    (60_000, 20_000, 20_001),
    (65_000, 21_666, 21_667),
    (70_000, 23_333, 23_334),
    (75_000, 25_000, 25_001),
    (80_000, 26_666, 26_667),
    (90_000, 30_000, 30_001),
    (100_000, 33_333, 33_334),
    (120_000, 40_000, 40_001),
    (59_900, 19_966, 19_970),  # 59.9 kg: 19.97 mL is over 19.967
]


@pytest.mark.parametrize(("weight_g", "within_ul", "over_ul"), YEARLY)
def test_filler_over_the_rolling_year(weight_g: int, within_ul: int, over_ul: int) -> None:
    within = facts(filler(100), weight_g=weight_g, filler_ul_last_year=within_ul - 100)
    over = facts(filler(100), weight_g=weight_g, filler_ul_last_year=over_ul - 100)
    assert codes(within) == []
    assert only(over).code == "filler-year"
    assert only(over).source is FILLER_YEARLY_VOLUME
    assert only(over).source.confidence is Confidence.MEMORY


def test_a_yearly_volume_of_the_clinics_own_is_its_policy() -> None:
    session = facts(filler(100), filler_ul_last_year=10_000, settings=LimitSettings(None, 10_000))
    flag = only(session)
    assert flag.source.confidence is Confidence.CLINIC_POLICY
    assert "10.1 mL, above 10 mL" in flag.text


def test_without_a_yearly_volume_the_one_on_offer_is_named_as_from_memory() -> None:
    flag = only(facts(filler(), settings=LimitSettings(), filler_ul_last_year=99_000))
    assert (flag.code, flag.level) == ("filler-year-unset", FlagLevel.NOTE)
    assert "20 mL per 60 kg" in flag.what_to_do
    assert flag.source.confidence is Confidence.MEMORY


INTERVAL = [
    # Professional page: at least 90 days apart. 25 Nov 2026 less 90 days is 27 Aug 2026 (dateutil).
    (date(2026, 8, 27), False),
    (date(2026, 8, 28), True),
    (TODAY, True),
    (None, False),
]


@pytest.mark.parametrize(("last", "flagged"), INTERVAL)
def test_toxin_within_ninety_days(last: date | None, flagged: bool) -> None:
    assert codes(facts(toxin(), last_toxin_date=last)) == (["toxin-interval"] if flagged else [])
    assert codes(facts(filler(), last_toxin_date=last)) == []


def test_the_interval_flag_names_rule_and_day() -> None:
    # 1 Dec 2026 + 90 days = 1 Mar 2027 (dateutil).
    session = replace(
        facts(toxin(number=3), last_toxin_date=date(2026, 12, 1)), today=date(2027, 2, 28)
    )
    flag = only(session)
    assert flag.text == (
        "Toxin was last given on 2026-12-01, 89 days before; 90 days end on 2027-03-01."
    )
    assert (flag.source, flag.points) == (TOXIN_INTERVAL, (3,))


CEILING = [
    # US cosmetic label highlights, 2019: 400 units in 3 months over all indications.
    (39_600, []),
    (39_601, ["toxin-ceiling"]),
]


@pytest.mark.parametrize(("earlier", "flags"), CEILING)
def test_four_hundred_units_in_three_months(earlier: int, flags: list[str]) -> None:
    # Another pack of the same toxin: two products, one preparation.
    given_before = (ToxinGiven("50-unit pack", "onabotulinumtoxinA 50", earlier),)
    assert codes(facts(toxin(400), toxin_last_3_months=given_before)) == flags


def test_units_of_another_toxin_do_not_count_towards_the_ceiling() -> None:
    other = (ToxinGiven("other", "AbobotulinumtoxinA", 39_900),)
    assert codes(facts(toxin(400), toxin_last_3_months=other)) == []


def test_the_published_ceiling_is_not_applied_to_another_toxin() -> None:
    mine = (ToxinGiven("other", "AbobotulinumtoxinA", 60_000),)
    session = facts(toxin(400, product="AbobotulinumtoxinA"), toxin_last_3_months=mine)
    assert codes(session) == []


def test_a_ceiling_of_the_clinics_own_holds_for_every_toxin() -> None:
    session = facts(
        toxin(1_100, product="AbobotulinumtoxinA"),
        settings=LimitSettings(toxin_ceiling_centiunits=1_000),
    )
    assert codes(session) == ["toxin-ceiling"]
    assert only(session).source.confidence is Confidence.CLINIC_POLICY


def test_a_toxin_of_unknown_name_is_counted_by_product() -> None:
    mine = (ToxinGiven("Toxin X", "Toxin X", 39_900),)
    session = facts(toxin(400, product="Toxin X"), toxin_last_3_months=mine)
    assert codes(session) == ["toxin-ceiling", "no-reference-toxin"]


def test_lidocaine_of_every_source_counts() -> None:
    # 60 kg without epinephrine: 270 mg; 200 mg by injection and 60 mg in a gel are within.
    block = point(ProductKind.ANAESTHETIC, 10_000, Region.UPPER_LIP, lidocaine_ug_per_ml=20_000)
    gel = LidocaineSource("Gel", 20_000, 3_000)
    to_the_limit = LidocaineSource("Block", 500, 20_000)
    more = LidocaineSource("Block", 1_000, 20_000)
    assert codes(facts(block, other_lidocaine=(gel,))) == []
    assert codes(facts(block, other_lidocaine=(gel, to_the_limit))) == []
    flag = only(facts(block, other_lidocaine=(gel, more)))
    assert flag.text.startswith(
        "Lidocaine from all sources: 280 mg, above 270 mg without epinephrine for this weight"
    )


def test_the_lidocaine_inside_a_filler_counts_and_takes_the_lower_limit() -> None:
    block = point(
        ProductKind.ANAESTHETIC,
        14_000,
        Region.UPPER_LIP,
        lidocaine_ug_per_ml=20_000,
        with_epinephrine=True,
    )
    with_lidocaine = filler(100, lidocaine_ug_per_ml=3_000)
    assert codes(facts(block)) == []
    assert codes(facts(block, with_lidocaine)) == ["lidocaine"]


def test_lidocaine_without_a_weight_is_held_against_the_cap() -> None:
    block = point(ProductKind.ANAESTHETIC, 15_001, Region.UPPER_LIP, lidocaine_ug_per_ml=20_000)
    cautions = session_flags(facts(block, weight_g=None))
    assert [flag.code for flag in cautions] == ["lidocaine", "weight-missing"]
    assert "above 300 mg without epinephrine for any weight" in cautions[0].text


SLIPS = [
    # plausibility, no source
    (filler(1_000, Region.UPPER_LIP), False),
    (filler(1_001, Region.UPPER_LIP), True),
    (filler(10_000, Region.UPPER_LIP), True),  # ten times a syringe
    (toxin(2_000, Region.PAROTID_MASSETERIC), False),
    (toxin(2_001, Region.PAROTID_MASSETERIC), True),
    (point(ProductKind.HYALURONIDASE, 150_000, Region.UPPER_LIP), False),
    (point(ProductKind.ANAESTHETIC, 2_000, Region.UPPER_LIP), False),
]


@pytest.mark.parametrize(("entry", "asked"), SLIPS)
def test_a_large_single_point_is_asked_about(entry: SessionPoint, asked: bool) -> None:
    assert ("large-point" in codes(facts(entry))) is asked


PLANES = [
    (filler(100, Region.GLABELLA, plane=Plane.INTRAMUSCULAR), True),
    (filler(100, Region.GLABELLA, plane=Plane.INTRADERMAL), False),
    (filler(100, Region.UPPER_LIP, plane=Plane.INTRAMUSCULAR), False),
    (toxin(plane=Plane.SUPRAPERIOSTEAL), True),
    (toxin(plane=Plane.INTRAMUSCULAR), False),
    (toxin(plane=Plane.INTRADERMAL), False),
    (filler(100, Region.ZYGOMATIC, plane=Plane.SUPRAPERIOSTEAL), False),
    (filler(100, Region.GLABELLA), False),
]


@pytest.mark.parametrize(("entry", "asked"), PLANES)
def test_an_odd_plane_is_a_question(entry: SessionPoint, asked: bool) -> None:
    flags = [flag for flag in session_flags(facts(entry)) if flag.code == "plane"]
    assert [flag.level for flag in flags] == ([FlagLevel.QUESTION] if asked else [])


def temples(left: int, right: int) -> tuple[SessionPoint, ...]:
    return (
        filler(left, Region.TEMPLE, side=Side.LEFT, number=1),
        filler(right, Region.TEMPLE, side=Side.RIGHT, number=2),
    )


REGIONS = [
    # usual amounts: common practice, no source
    (temples(500, 600), []),
    (temples(499, 601), [(FlagLevel.QUESTION, (2,)), (FlagLevel.NOTE, (1,))]),
    ((filler(200), filler(200, number=2)), []),
    ((filler(200), filler(201, number=2)), [(FlagLevel.QUESTION, (2,))]),
    (
        (filler(150, Region.PAROTID_MASSETERIC), filler(151, Region.PAROTID_MASSETERIC, number=2)),
        [(FlagLevel.QUESTION, (1, 2))],
    ),
    ((filler(201, Region.MENTAL, side=Side.MIDLINE),), [(FlagLevel.QUESTION, (1,))]),
    ((filler(201, Region.NASOLABIAL),), [(FlagLevel.QUESTION, (1,))]),
    ((filler(50, Region.NASOLABIAL),), []),
]


@pytest.mark.parametrize(("points", "expected"), REGIONS)
def test_filler_against_the_usual_amount(
    points: tuple[SessionPoint, ...], expected: list[tuple[FlagLevel, tuple[int, ...]]]
) -> None:
    flags = session_flags(facts(*points))
    assert [(flag.level, flag.points) for flag in flags] == expected
    assert all(flag.source.confidence is Confidence.COMMON_PRACTICE for flag in flags)


def test_a_usual_amount_is_named_with_its_range() -> None:
    flag = only(facts(*temples(650, 500)))
    assert (
        flag.text
        == "Temporal region, left: 0.65 mL is above the usual 0.5 mL to 0.6 mL for a side."
    )


LABELS = [
    # US cosmetic label highlights, 2019: 5 x 4 glabella, 6 x 4 lateral canthal, 5 x 4 forehead
    (Region.GLABELLA, ONABOTULINUM, 5),
    (Region.LATERAL_CANTHAL, ONABOTULINUM, 6),
    (Region.FOREHEAD, ONABOTULINUM, 5),
    # J Drugs Dermatol 2021
    (Region.GLABELLA, "PrabotulinumtoxinA", 5),
    (Region.GLABELLA, "AbobotulinumtoxinA", 12),  # 48 of 50 units
]


@pytest.mark.parametrize(("region", "product", "sites"), LABELS)
def test_toxin_against_the_total_of_its_label(region: Region, product: str, sites: int) -> None:
    label = tuple(
        toxin(400, region, product=product, number=number) for number in range(1, sites + 1)
    )
    one_more = toxin(300, region, product=product, number=sites + 1)
    assert codes(facts(*label)) == []
    assert codes(facts(*label, one_more)) == ["label-total"]


def test_the_neck_s_total_counts_the_side_band_that_the_neck_view_shows_apart() -> None:
    # Platysma bands, onabotulinumtoxinA: 36 units by its label (see TOXIN_PLATYSMA).
    front = toxin(2_000, Region.NECK)
    band = toxin(1_600, Region.STERNOCLEIDOMASTOID, number=2)
    assert codes(facts(front, band)) == []
    aside = toxin(100, Region.LATERAL_CERVICAL, number=3)
    (flag,) = session_flags(facts(front, band, aside))
    assert flag.code == "label-total"
    assert flag.text.startswith("Anterior cervical region: 37 units is above the 36 units")
    assert flag.points == (1, 2, 3)


def test_what_no_reference_covers_is_one_note_for_each_kind() -> None:
    session = facts(
        filler(100, Region.UPPER_LIP, number=1),
        filler(100, Region.UPPER_LIP, number=2, side=Side.RIGHT),
        filler(100, Region.INFRAORBITAL, number=3),
        toxin(400, Region.PAROTID_MASSETERIC, number=4),
    )
    of_filler, of_toxin = session_flags(session)
    assert (
        of_filler.text == "No reference amount for this filler in: Upper lip, Infraorbital region."
    )
    assert (of_filler.level, of_filler.points) == (FlagLevel.NOTE, (1, 2, 3))
    assert (of_toxin.text, of_toxin.points) == (
        "No reference amount for this toxin in: Parotideomasseteric region.",
        (4,),
    )


def test_flags_are_ordered_by_urgency() -> None:
    session = facts(filler(1_500, Region.UPPER_LIP), toxin(), last_toxin_date=TODAY, age_years=None)
    assert codes(session) == ["toxin-interval", "large-point", "age-missing", "no-reference-filler"]


NAMES = [
    (ONABOTULINUM, "onabotulinumtoxina"),
    ("onabotulinum toxin A", "onabotulinumtoxina"),
    ("abobotulinumtoxinA", "abobotulinumtoxina"),
    ("Toxin X", None),
    ("", None),
]


@pytest.mark.parametrize(("text", "toxin_key"), NAMES)
def test_a_toxin_is_known_by_its_generic_name(text: str, toxin_key: str | None) -> None:
    assert toxin_named_in(text) == toxin_key


def test_a_filler_is_not_measured_in_units() -> None:
    with pytest.raises(ValueError, match="not measured"):
        replace(filler(), measure=ProductKind.TOXIN.measure)


@pytest.mark.parametrize("weight_g", [0, -1])
def test_a_weight_of_nothing_is_refused(weight_g: int) -> None:
    with pytest.raises(ValueError, match="not recorded"):
        facts(filler(), weight_g=weight_g)


@given(
    st.lists(
        st.builds(
            point,
            st.sampled_from(ProductKind),
            st.integers(1, 50_000),
            st.sampled_from(Region),
            side=st.sampled_from(Side),
            product=st.sampled_from(["", ONABOTULINUM, "AbobotulinumtoxinA"]),
            plane=st.sampled_from([None, *Plane]),
            lidocaine_ug_per_ml=st.sampled_from([0, 3_000, 20_000]),
        ),
        max_size=12,
    ),
    st.none() | st.integers(0, 110),
    st.none() | st.integers(1, 300_000),
    st.none() | st.dates(date(2020, 1, 1), date(2027, 1, 1)),
)
def test_any_session_gets_flags_with_a_source_and_what_to_do(
    points: list[SessionPoint], age: int | None, weight_g: int | None, last: date | None
) -> None:
    session = facts(*points, age_years=age, weight_g=weight_g, last_toxin_date=last)
    for flag in session_flags(session):
        assert flag.text.endswith(".")
        assert flag.what_to_do.endswith(".")
        assert str(flag.source)
        assert set(flag.points) <= {entry.number for entry in points}

"""
Filler in a session, and filler over filler. The figures are a clinic's own; that permanent and
unknown fillers are asked about is common practice, no source.
"""

from datetime import date

import pytest

from planning.atlas.regions import Region
from planning.care import (
    CareElsewhere,
    CareKind,
    EarlierFiller,
    FillerFamily,
    PartialDay,
    Precision,
)
from planning.flags import FlagLevel, SessionPoint
from planning.reference_ranges import REGION_RANGES, Per, RegionRange
from planning.sources import Confidence, clinic_policy
from planning.vocabulary import ProductKind, Side
from tests.planning.limits.sessions import by_clinic, codes, facts, filler, only, point

CHEEK = Region.ZYGOMATIC
IN_MARCH = PartialDay(date(2020, 3, 1), Precision.MONTH)


def other_filler() -> SessionPoint:
    return point(ProductKind.OTHER_FILLER, 100, CHEEK)


def elsewhere(family: FillerFamily, region: str = CHEEK) -> CareElsewhere:
    return CareElsewhere(CareKind.FILLER, IN_MARCH, region=region, family=family)


@pytest.mark.parametrize(
    ("amount", "flags"), [(200, []), (201, ["filler-session", "region-amount"])]
)
def test_a_clinic_can_set_the_filler_of_a_session(amount: int, flags: list[str]) -> None:
    session = facts(filler(amount), settings=by_clinic(filler_session_ul=200))
    assert codes(session) == flags


def test_the_figure_of_a_session_is_the_clinics_own() -> None:
    two = (filler(200, number=1), filler(200, number=2, side=Side.RIGHT))
    flag = only(facts(*two, settings=by_clinic(filler_session_ul=300)))
    assert flag.text == "Filler in this session: 0.4 mL, above 0.3 mL."
    assert flag.source.confidence is Confidence.CLINIC_POLICY
    assert flag.points == (1, 2)


def test_usual_amounts_can_be_the_clinics_own_and_count_both_sides() -> None:
    lip = RegionRange(Region.UPPER_LIP, Per.SESSION, 500, source=clinic_policy("0.5 mL in a lip"))
    settings = by_clinic(region_ranges={**REGION_RANGES, Region.UPPER_LIP: lip})
    left = filler(300, Region.UPPER_LIP, number=1)
    right = filler(300, Region.UPPER_LIP, number=2, side=Side.RIGHT)
    flag = only(facts(left, right, settings=settings))
    assert flag.text == "Upper lip: 0.6 mL is above the usual 0.5 mL for a session, both sides."
    assert (flag.points, flag.source.confidence) == ((1, 2), Confidence.CLINIC_POLICY)


FAMILIES = [
    (filler(), FillerFamily.HA, []),
    (filler(), FillerFamily.OTHER, ["filler-family"]),
    (filler(), FillerFamily.UNKNOWN, ["filler-family"]),
    (filler(), FillerFamily.PERMANENT, ["filler-permanent"]),
    (other_filler(), FillerFamily.OTHER, []),
    (other_filler(), FillerFamily.HA, ["filler-family"]),
]


@pytest.mark.parametrize(("given", "family", "flags"), FAMILIES)
def test_filler_of_another_family_in_the_region_is_asked_about(
    given: SessionPoint, family: FillerFamily, flags: list[str]
) -> None:
    assert codes(facts(given, care=(elsewhere(family),))) == flags
    assert codes(facts(given, care=(elsewhere(family, Region.MENTAL),))) == []


def test_permanent_filler_says_who_told_of_it_and_when() -> None:
    flag = only(facts(filler(), care=(elsewhere(FillerFamily.PERMANENT),)))
    assert flag.level is FlagLevel.CAUTION
    assert flag.text == (
        "Zygomatic region: permanent filler elsewhere in 2020-03, as the patient tells it."
    )


def test_what_the_clinic_gave_before_counts_too() -> None:
    earlier = EarlierFiller(CHEEK, FillerFamily.OTHER, "Calcium filler", date(2025, 12, 26))
    flag = only(facts(filler(number=4), earlier_fillers=(earlier,)))
    assert flag.text == "Zygomatic region: Calcium filler was given here on 2025-12-26."
    assert (flag.level, flag.points) == (FlagLevel.QUESTION, (4,))


def test_two_families_in_one_region_today_ask_about_what_lies_there() -> None:
    session = facts(filler(), other_filler(), care=(elsewhere(FillerFamily.HA),))
    assert codes(session) == ["filler-family"]


def test_filler_of_a_region_nobody_knows_is_one_note() -> None:
    unknown = elsewhere(FillerFamily.UNKNOWN, region="")
    flag = only(facts(filler(), filler(number=2), care=(unknown,)))
    assert (flag.code, flag.level) == ("filler-somewhere", FlagLevel.NOTE)

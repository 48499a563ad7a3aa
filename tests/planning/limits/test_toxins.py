"""
Time since the last toxin by region, units in a session, toxin elsewhere.

Interval: professional page on onabotulinumtoxinA, at least 90 days apart. Units are not
interchangeable: its US label highlights, 2019.
"""

from datetime import date

from planning.atlas.regions import Region
from planning.care import CareElsewhere, CareKind, PartialDay, Precision
from planning.flags import FlagLevel, ToxinGiven
from planning.limits import session_flags
from planning.sources import TOXIN_INTERVAL, TOXIN_NOT_INTERCHANGEABLE, Confidence
from tests.planning.limits.sessions import by_clinic, codes, facts, only, toxin

OCTOBER = date(2026, 10, 1)


def elsewhere(first: date | None, precision: Precision, **more: object) -> CareElsewhere:
    return CareElsewhere(CareKind.TOXIN, PartialDay(first, precision), **more)  # type: ignore[arg-type]


def test_the_same_region_is_named_and_says_it_once() -> None:
    session = facts(
        toxin(number=1),
        toxin(number=2, region=Region.FOREHEAD),
        last_toxin_date=OCTOBER,
        last_toxin_by_region={Region.GLABELLA: OCTOBER},
    )
    flag = only(session)
    assert (flag.code, flag.points, flag.source) == ("toxin-interval-region", (1,), TOXIN_INTERVAL)
    assert flag.text == (
        "Glabella: toxin was last given there on 2026-10-01, 55 days before; "
        "90 days end on 2026-12-30."
    )


def test_a_region_long_ago_leaves_the_later_treatment_of_another_to_be_said() -> None:
    session = facts(
        toxin(), last_toxin_date=OCTOBER, last_toxin_by_region={Region.GLABELLA: date(2026, 1, 5)}
    )
    assert codes(session) == ["toxin-interval"]


def test_regions_of_one_earlier_day_are_one_flag() -> None:
    session = facts(
        toxin(number=1),
        toxin(number=2, region=Region.FOREHEAD),
        last_toxin_date=OCTOBER,
        last_toxin_by_region={Region.GLABELLA: OCTOBER, Region.FOREHEAD: OCTOBER},
    )
    assert only(session).text.startswith("Glabella, Frontal region: toxin was")


def test_toxin_elsewhere_counts_from_the_last_day_it_can_have_been() -> None:
    # All of August: 31 Aug 2026 is 86 days before 25 Nov 2026.
    august = elsewhere(date(2026, 8, 1), Precision.MONTH)
    early, noted = session_flags(facts(toxin(), care=(august,)))
    assert (early.code, noted.code) == ("toxin-interval", "toxin-elsewhere")
    assert early.text == (
        "Toxin was last given elsewhere in 2026-08, as the patient tells it, as few as 86 days "
        "before; 90 days end by 2026-11-29."
    )
    july = elsewhere(date(2026, 7, 1), Precision.MONTH)
    assert codes(facts(toxin(), care=(july,), toxin_window_from=date(2026, 8, 26))) == []


def test_toxin_elsewhere_in_this_year_may_have_been_yesterday() -> None:
    this_year = elsewhere(date(2026, 1, 1), Precision.YEAR, region=Region.GLABELLA)
    assert codes(facts(toxin(), care=(this_year,))) == ["toxin-interval-region", "toxin-elsewhere"]


def test_toxin_elsewhere_without_a_date_is_said() -> None:
    flag = only(facts(toxin(), care=(elsewhere(None, Precision.UNKNOWN),)))
    assert flag.code == "care-date-missing"
    assert flag.text.endswith("were not checked: toxin elsewhere.")


def test_units_given_elsewhere_are_told_and_not_added() -> None:
    care = (elsewhere(date(2026, 9, 1), Precision.DAY, centiunits=5_000),)
    given = (ToxinGiven("OnabotulinumtoxinA", "OnabotulinumtoxinA", 39_600),)
    session = facts(
        toxin(400), care=care, toxin_last_3_months=given, toxin_window_from=date(2026, 8, 26)
    )
    assert codes(session) == ["toxin-interval", "toxin-elsewhere"]
    note = next(flag for flag in session_flags(session) if flag.code == "toxin-elsewhere")
    assert "50 units on 2026-09-01. It was not added" in note.text
    assert (note.level, note.source) == (FlagLevel.NOTE, TOXIN_NOT_INTERCHANGEABLE)


def test_a_clinic_can_set_the_units_of_a_session() -> None:
    points = (toxin(1_000, number=1), toxin(1_000, number=2))
    assert codes(facts(*points, settings=by_clinic(toxin_session_centiunits=2_000))) == []
    flag = only(facts(*points, settings=by_clinic(toxin_session_centiunits=1_999)))
    assert flag.text == (
        "OnabotulinumtoxinA, 100 units: 20 units in this session, above 19.99 units."
    )
    assert flag.source.confidence is Confidence.CLINIC_POLICY

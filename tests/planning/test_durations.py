"""How long effects last: published ranges, the clinic's own, and when to treat again."""

from datetime import date

import pytest

from planning.atlas.region_groups import RegionGroup
from planning.durations import (
    PUBLISHED,
    DurationError,
    TypicalDuration,
    duration_for,
    next_treatment,
)
from planning.sources import FOLD_FILLER_SCORES, TOXIN_DURATION, Confidence, clinic_policy
from planning.vocabulary import ProductKind

FILLER, TOXIN = ProductKind.HA_FILLER, ProductKind.TOXIN
UPPER, LIPS = RegionGroup.UPPER_FACE, RegionGroup.LIPS
OWN = clinic_policy("our own range")


def own(kind: ProductKind, group: RegionGroup | None, least: int, most: int) -> TypicalDuration:
    return TypicalDuration(kind, group, least, most, OWN)


def test_only_toxin_in_the_upper_face_has_a_published_range() -> None:
    # Source: dilution guide of onabotulinumtoxinA, effect in glabellar lines about 3 to 4 months.
    (known,) = PUBLISHED
    assert (known.kind, known.group, known.months_text) == (TOXIN, UPPER, "3 to 4 months")
    assert known.source is TOXIN_DURATION
    assert known.source.confidence is Confidence.PUBLISHED


def test_the_scores_of_fold_fillers_are_those_of_the_pooled_trials() -> None:
    # Source: meta-analysis of fold fillers, 2021.
    for score in ("3.23", "1.79", "2.02", "2.46"):
        assert score in FOLD_FILLER_SCORES.detail


def test_the_clinic_s_own_range_comes_first_and_that_of_the_part_before_that_of_the_kind() -> None:
    known = [own(FILLER, None, 9, 15), own(FILLER, LIPS, 6, 9), own(TOXIN, UPPER, 2, 3)]
    assert duration_for(known, FILLER, LIPS) == known[1]
    assert duration_for(known, FILLER, UPPER) == known[0]
    assert duration_for(known, TOXIN, UPPER) == known[2]
    assert duration_for([], TOXIN, UPPER) == PUBLISHED[0]
    assert duration_for([], TOXIN, LIPS) is None
    assert duration_for([], FILLER, UPPER) is None


# Source: python-dateutil 2.9, month ends and leap day.
@pytest.mark.parametrize(
    ("treated", "first", "last"),
    [
        ("2026-11-30", "2027-02-28", "2027-03-30"),
        ("2026-10-31", "2027-01-31", "2027-02-28"),
        ("2027-11-30", "2028-02-29", "2028-03-30"),
    ],
)
def test_months_end_as_the_calendar_has_them(treated: str, first: str, last: str) -> None:
    fading = PUBLISHED[0].fading(date.fromisoformat(treated))
    assert fading == (date.fromisoformat(first), date.fromisoformat(last))


def test_a_next_treatment_waits_for_the_shortest_interval() -> None:
    # 25 November 2026 + 90 days = 23 February 2027, before 3 months are over; + 120 days is after.
    treated, known = date(2026, 11, 25), PUBLISHED[0]
    fading = (date(2027, 2, 25), date(2027, 3, 25))
    assert next_treatment(treated, known) == fading
    assert next_treatment(treated, known, not_before=date(2027, 2, 23)) == fading
    later = date(2027, 3, 25)
    assert next_treatment(treated, known, not_before=later) == (later, later)
    much_later = date(2027, 5, 1)
    assert next_treatment(treated, known, not_before=much_later) == (much_later, much_later)


@pytest.mark.parametrize(("least", "most"), [(0, 3), (4, 3)])
def test_a_range_that_is_none_is_refused(least: int, most: int) -> None:
    with pytest.raises(DurationError):
        own(FILLER, None, least, most)


def test_one_month_is_said_as_one() -> None:
    assert own(FILLER, None, 1, 1).months_text == "1 month"
    assert own(FILLER, None, 6, 6).months_text == "6 months"

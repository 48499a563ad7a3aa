"""Days known only in part."""

from datetime import date

import pytest

from planning.care import FillerFamily, PartialDay, Precision
from planning.vocabulary import ProductKind

# Last day of a month: calendar, February 2028 is that of a leap year.
DAYS = [
    (PartialDay(date(2026, 3, 5)), date(2026, 3, 5), "on 2026-03-05"),
    (PartialDay(date(2028, 2, 1), Precision.MONTH), date(2028, 2, 29), "in 2028-02"),
    (PartialDay(date(2026, 1, 1), Precision.YEAR), date(2026, 12, 31), "in 2026"),
    (PartialDay(None, Precision.UNKNOWN), None, "on a day not known"),
]


@pytest.mark.parametrize(("day", "last", "text"), DAYS)
def test_a_day_known_in_part(day: PartialDay, last: date | None, text: str) -> None:
    assert (day.last, str(day)) == (last, text)


def test_days_before_are_the_fewest_that_can_be_and_never_below_none() -> None:
    today = date(2026, 11, 25)
    assert PartialDay(date(2026, 10, 1), Precision.MONTH).days_before(today) == 25
    assert PartialDay(date(2026, 1, 1), Precision.YEAR).days_before(today) == 0
    assert PartialDay(None, Precision.UNKNOWN).days_before(today) is None


@pytest.mark.parametrize(
    ("first", "precision"), [(None, Precision.DAY), (date(2026, 1, 1), Precision.UNKNOWN)]
)
def test_a_date_and_its_precision_go_together(first: date | None, precision: Precision) -> None:
    with pytest.raises(ValueError, match="no date"):
        PartialDay(first, precision)


def test_families_of_what_the_clinic_injects() -> None:
    assert FillerFamily.of(ProductKind.HA_FILLER) is FillerFamily.HA
    assert FillerFamily.of(ProductKind.OTHER_FILLER) is FillerFamily.OTHER

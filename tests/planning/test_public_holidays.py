"""
Public holidays move reviews, and the reason names the holiday.

England 2026: the days of the United Kingdom's published list of bank holidays. Business days:
numpy's busday conventions over the same closed days.
"""

from datetime import date, timedelta

import pytest

from planning.public_holidays import HolidayCalendar, HolidayError, countries, part_named, parts_of
from planning.review_dates import (
    CLOSED,
    Interval,
    IntervalUnit,
    OpenDays,
    ReviewRule,
    Roll,
    review_date,
    roll_to_open_day,
)

ENGLAND = HolidayCalendar("GB", "ENG")
MONDAY_TO_FRIDAY = frozenset(range(5))
CLINIC = OpenDays(MONDAY_TO_FRIDAY, holidays=ENGLAND)


def day(text: str) -> date:
    return date.fromisoformat(text)


def test_england_in_2026_has_these_bank_holidays() -> None:
    year = (date(2026, 1, 1) + timedelta(days=offset) for offset in range(365))
    listed = [
        "2026-01-01", "2026-04-03", "2026-04-06", "2026-05-04", "2026-05-25", "2026-08-31",
        "2026-12-25", "2026-12-26", "2026-12-28",
    ]  # fmt: skip
    assert [str(one) for one in year if ENGLAND.name_of(one)] == listed
    assert [str(one) for one, _ in ENGLAND.in_year(2026)] == listed
    assert ENGLAND.in_year(2026)[1] == (date(2026, 4, 3), "Good Friday")


def test_scotland_keeps_a_second_of_january_and_england_does_not() -> None:
    assert HolidayCalendar("GB", "SCT").name_of(day("2026-01-02"))
    assert not ENGLAND.name_of(day("2026-01-02"))


@pytest.mark.parametrize(
    ("start", "following", "preceding", "modified"),
    [
        ("2026-11-28", "2026-11-30", "2026-11-27", "2026-11-30"),
        ("2026-10-31", "2026-11-02", "2026-10-30", "2026-10-30"),
        ("2026-12-25", "2026-12-29", "2026-12-24", "2026-12-29"),
        ("2026-12-26", "2026-12-29", "2026-12-24", "2026-12-29"),
        ("2027-01-01", "2027-01-04", "2026-12-31", "2027-01-04"),
        ("2027-01-31", "2027-02-01", "2027-01-29", "2027-01-29"),
        ("2027-02-27", "2027-03-01", "2027-02-26", "2027-02-26"),
    ],
)
def test_a_closed_day_rolls_over_the_bank_holidays(
    start: str, following: str, preceding: str, modified: str
) -> None:
    rolls = (Roll.FOLLOWING, Roll.PRECEDING, Roll.MODIFIED_FOLLOWING)
    rolled = tuple(roll_to_open_day(day(start), roll, CLINIC.is_open) for roll in rolls)
    assert rolled == (day(following), day(preceding), day(modified))


def test_the_reason_names_the_holiday_or_the_closure() -> None:
    rule = ReviewRule(Interval(14, IntervalUnit.DAY))

    def reason(treated: str, clinic: OpenDays) -> str:
        dates = review_date(
            day(treated), rule, clinic.is_open, why_closed=clinic.why_closed, since="the session"
        )
        return dates.reason

    assert reason("2026-12-11", CLINIC) == (
        "14 days after the session, moved from Friday 25 December 2026, Christmas Day"
    )
    training = {day("2026-12-09"): "Staff training"}
    closed = OpenDays(MONDAY_TO_FRIDAY, frozenset(training), training, ENGLAND)
    assert reason("2026-11-25", closed).endswith("Wednesday 9 December 2026, Staff training")
    assert reason("2026-11-14", closed).endswith(f"Saturday 28 November 2026, {CLOSED}")


def test_countries_and_their_parts_are_the_list_s_own() -> None:
    assert countries()["GB"] == "United Kingdom"
    assert list(countries().values()) == sorted(countries().values())
    assert parts_of("GB") == {
        "ENG": "England", "NIR": "Northern Ireland", "SCT": "Scotland", "WLS": "Wales",
    }  # fmt: skip


@pytest.mark.parametrize("typed", ["ENG", "eng", "England", " england "])
def test_a_part_is_found_by_code_or_name(typed: str) -> None:
    assert part_named("GB", typed) == "ENG"


@pytest.mark.parametrize(("country", "part"), [("XX", ""), ("", ""), ("GB", "Bavaria")])
def test_what_the_list_does_not_know_is_refused(country: str, part: str) -> None:
    with pytest.raises(HolidayError):
        HolidayCalendar(country, part)
    with pytest.raises(HolidayError):
        part_named(country, part or "Bavaria")


def test_every_country_offered_can_be_asked() -> None:
    for code in countries():
        assert isinstance(HolidayCalendar(code).name_of(date(2026, 1, 1)), str), code


def test_a_day_beyond_the_list_is_no_holiday() -> None:
    assert ENGLAND.name_of(date.max) == ""

"""
Days as people say them.

Checked against `dateutil`, a general-purpose library of dates (`parser.parse(dayfirst=True)` and
`relativedelta(weekday=...)`), and against the calendar of ISO 8601-1. Which words people use for a
day is common practice, no source.
"""

from datetime import date, timedelta

import pytest
from dateutil import parser, relativedelta
from hypothesis import given
from hypothesis import strategies as st

from planning.spoken_dates import FIRST_YEAR, YEARS_AHEAD, Reading, readings

MONDAY = date(2026, 11, 30)
BIRTHS = st.dates(date(FIRST_YEAR, 1, 1), MONDAY)
TODAYS = st.dates(date(2020, 1, 1), date(2040, 12, 31))
# As strftime writes them; the day stands before the month.
WITH_YEAR = (
    "%Y-%m-%d", "%d.%m.%Y", "%d/%m/%Y", "%d-%m-%Y", "%d %m %Y", "%d%m%Y", "%d %b %Y", "%d %B %Y",
    "%B %d %Y", "%b %d, %Y", "%d. %m. %Y",
)  # fmt: skip


def days(text: str, today: date = MONDAY) -> list[date]:
    return [reading.day for reading in readings(text, today)]


@given(BIRTHS, st.sampled_from(WITH_YEAR))
def test_a_date_with_its_year_is_read_as_the_library_reads_it(day, form):
    said = day.strftime(form)
    written = day.strftime("%d/%m/%Y") if form == "%d%m%Y" else said.replace(". ", ".")
    year_first = form.startswith("%Y")
    expected = parser.parse(written, dayfirst=not year_first, yearfirst=year_first).date()
    assert readings(said, MONDAY)[0] == Reading(expected, has_year=True)
    assert expected == day


@given(BIRTHS)
def test_month_first_is_the_second_reading_of_what_may_be_both(day):
    both = day.day <= 12 and day.day != day.month
    other = [date(day.year, day.day, day.month)] if both else []
    assert days(f"{day.day}/{day.month}/{day.year}") == [
        found for found in [day, *other] if found.year <= MONDAY.year + YEARS_AHEAD
    ]


@given(TODAYS, st.integers(0, 6), st.sampled_from(["%A", "%a"]))
def test_a_weekday_is_the_one_to_come(today, ahead, form):
    day = today + timedelta(days=ahead)
    named = (relativedelta.MO, relativedelta.TU, relativedelta.WE, relativedelta.TH,
             relativedelta.FR, relativedelta.SA, relativedelta.SU)[day.weekday()]  # fmt: skip
    coming = today + relativedelta.relativedelta(weekday=named(+1))
    last = today - timedelta(days=1) + relativedelta.relativedelta(weekday=named(-1))
    assert days(day.strftime(form), today) == [coming] == [day]
    assert days(f"last {day:%A}", today) == [last]
    assert days(f"{day:%A} week", today) == days(f"a week on {day:%A}", today)
    assert days(f"{day:%A} week", today) == [coming + timedelta(days=7)]


@given(TODAYS, st.integers(1, 31), st.integers(1, 12))
def test_a_day_without_a_year_lies_on_both_sides_of_today(today, day, month):
    found = days(f"{day}.{month}.", today) or days(f"{day}.{month}", today)
    assert all((one.day, one.month) == (day, month) for one in found)
    assert [one >= today for one in found] in ([True, False], [False], [])


@given(st.text(alphabet="0123456789 ./-'adefimnorstuwy", max_size=24) | st.text(max_size=24))
def test_whatever_is_typed_gives_days_in_reach_or_none(text):
    for reading in readings(text, MONDAY):
        assert FIRST_YEAR <= reading.day.year <= MONDAY.year + YEARS_AHEAD


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("4/10/65", ["1965-10-04", "1965-04-10"]),
        ("4.10.65", ["1965-10-04"]),  # points: the day stands first
        ("4 Oct '65", ["1965-10-04"]),
        ("4oct65", ["1965-10-04"]),
        ("the 4th of October, 1965", ["1965-10-04"]),
        ("1 jan 30", ["2030-01-01", "1930-01-01"]),  # both centuries are in reach
        ("12/13/2026", ["2026-12-13"]),  # no 13th month
        ("12 Dec", ["2026-12-12", "2025-12-12"]),
        ("Sept. 3rd", ["2027-09-03", "2026-09-03"]),
        ("29 feb", ["2028-02-29", "2024-02-29"]),
        ("TOMORROW", ["2026-12-01"]),
        ("the day after tomorrow", ["2026-12-02"]),
        ("next friday", ["2026-12-04", "2026-12-11"]),  # people mean both
        ("next monday", ["2026-12-07"]),
        ("thurs", ["2026-12-03"]),
        ("in two weeks", ["2026-12-14"]),
        ("in 3 months", ["2027-02-28"]),  # November has 30 days, February 28
        ("3 days ago", ["2026-11-27"]),
    ],
)
def test_what_is_said(text, expected):
    assert [f"{day}" for day in days(text)] == expected


@pytest.mark.parametrize(
    "text",
    ["", "may", "june", "sunny", "31.02.1980", "30 feb", "0.5.1980", "12 10", "3-4", "1899-01-01",
     "17.05.1890", "2040-01-01", "123456", "next week", "in weeks", "٣.٤.١٩٨٠"],
)  # fmt: skip
def test_what_is_no_day(text):
    assert days(text) == []

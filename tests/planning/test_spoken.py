"""What a caller says, taken apart."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.spoken import hear

MONDAY = date(2026, 11, 30)


@pytest.mark.parametrize(
    ("text", "rest", "day", "times"),
    [
        ("maria lopez", "maria lopez", None, []),
        ("maria 4 oct 1965 lopez", "maria lopez", "1965-10-04", []),
        ("Ann born on 17.05.1980", "Ann", "1980-05-17", []),
        ("friday 10:30", "", "2026-12-04", ["10:30"]),
        ("lopez, friday week at half past ten", "lopez,", "2026-12-11", ["10:30"]),
        ("12 Dec Ann", "Ann", "2026-12-12", []),
        ("10.12", "", "2026-12-10", ["10:12"]),  # may be both
        ("tuesday 9", "", "2026-12-01", ["09:00"]),
        ("Ann tomorrow 3", "Ann", "2026-12-01", ["15:00"]),
        ("tuesday 9 dec", "", "2026-12-01", []),
        ("tuesday 0123", "0123", "2026-12-01", []),
        ("at the clinic", "at the clinic", None, []),
    ],
)
def test_days_and_times_are_taken_out(text, rest, day, times):
    heard = hear(text, MONDAY)
    assert heard.rest == rest
    assert [f"{one}" for one in heard.days[:1]] == ([day] if day else [])
    assert [f"{one:%H:%M}" for one in heard.times] == times


def test_only_a_day_with_a_year_that_has_come_is_a_date_of_birth():
    assert hear("12 Dec", MONDAY).born == ()
    assert hear("12 Dec 2026", MONDAY).born == ()
    assert hear("12 Dec 1970", MONDAY).born == (date(1970, 12, 12),)


@given(st.text(max_size=60), st.dates(date(1900, 1, 1), MONDAY))
def test_a_date_of_birth_is_heard_behind_any_words(words, born):
    heard = hear(f"{words} {born.isoformat()}", MONDAY)
    if len(words.split()) < 10:
        assert born in heard.born
    assert set(heard.rest.split()) <= set(words.split())

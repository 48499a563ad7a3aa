"""Times of day as people say them. Which words they use is common practice, no source."""

from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.spoken_times import readings

MINUTES = st.times().map(lambda at: at.replace(second=0, microsecond=0))


@given(MINUTES)
def test_a_time_of_two_digits_is_among_its_readings(at):
    """Read back by the standard library's own parser."""
    for said in (f"{at:%H:%M}", f"{at:%H.%M}"):
        assert datetime.strptime(said.replace(".", ":"), "%H:%M").time() in readings(said)  # noqa: DTZ007


@given(MINUTES)
def test_with_its_half_of_the_day_a_time_is_one(at):
    assert readings(at.strftime("%I:%M %p")) == (at,)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("3pm", ["15:00"]), ("3 p.m.", ["15:00"]), ("12am", ["00:00"]), ("noon", ["12:00"]),
        ("at 3", ["15:00"]), ("at 9", ["09:00"]), ("at 7", ["07:00", "19:00"]),
        ("10:30", ["10:30"]), ("09:30", ["09:30"]), ("13:05", ["13:05"]), ("9pm", ["21:00"]),
        ("half past ten", ["10:30"]), ("quarter to 4", ["15:45"]),
        ("at 1430", ["14:30"]), ("ten o’clock", ["10:00"]),
    ],
)  # fmt: skip
def test_what_is_said(text, expected):
    assert [f"{at:%H:%M}" for at in readings(text)] == expected


@pytest.mark.parametrize("text", ["", "3", "10", "1430", "25:00", "10:60", "13pm", "at ann", "am"])
def test_what_is_no_time(text):
    assert readings(text) == ()

"""
A made-up vial is used within 24 hours (dilution guide of onabotulinumtoxinA), to the minute.
"""

from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest

from records.sessions.queries.tray import hours_against

LONDON = ZoneInfo("Europe/London")


def against(made_up: datetime, used: datetime) -> list[str]:
    use_before = made_up.astimezone(UTC) + timedelta(hours=24)
    opening = SimpleNamespace(use_before=use_before)
    return hours_against(SimpleNamespace(label="U000001"), opening, used.astimezone(UTC))


@pytest.mark.parametrize(("minute", "past"), [(-1, False), (0, False), (1, True)])
def test_exactly_24_hours_are_within(minute, past):
    made_up = datetime(2026, 11, 25, 10, tzinfo=LONDON)
    used = datetime(2026, 11, 26, 10, tzinfo=LONDON) + timedelta(minutes=minute)
    assert bool(against(made_up, used)) is past


@pytest.mark.parametrize(
    ("saturday", "past"),
    [(datetime(2027, 3, 27, 10, 30), False), (datetime(2026, 10, 24, 10, 30), True)],  # noqa: DTZ001
)
def test_a_night_in_which_the_clock_changes_is_23_or_25_hours(saturday, past):
    # Last Sundays of March and October: 10:30 to 10:30 by the clock on the wall.
    made_up = saturday.replace(tzinfo=LONDON)
    used = (saturday + timedelta(days=1)).replace(tzinfo=LONDON)
    assert bool(against(made_up, used)) is past

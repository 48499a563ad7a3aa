"""When to try again. Common practice, no source for the pauses."""

from datetime import UTC, datetime, timedelta

import pytest

from planning.retries import next_try

NOW = datetime(2026, 12, 1, 10, tzinfo=UTC)
LATER = NOW + timedelta(days=30)


@pytest.mark.parametrize(
    ("tries", "minutes"), [(1, 1), (2, 5), (3, 30), (4, 120), (5, 360), (9, 360)]
)
def test_pauses_grow(tries, minutes):
    assert next_try(tries, now=NOW, until=LATER) == NOW + timedelta(minutes=minutes)


def test_what_would_come_too_late_is_not_tried_again():
    assert next_try(1, now=NOW, until=NOW + timedelta(minutes=1)) is None
    assert next_try(1, now=NOW, until=NOW + timedelta(minutes=2)) is not None


def test_before_the_first_try_there_is_no_again():
    with pytest.raises(ValueError, match="nothing to try again"):
        next_try(0, now=NOW, until=LATER)

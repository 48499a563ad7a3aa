"""Age by month and day: the stricter reading for births on 29 February, where dateutil differs."""

from datetime import date

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from planning.ages import age_years

AGES = [
    ("2008-11-25", "2026-11-24", 17, "day before the birthday"),
    (
        "2008-11-25",
        "2026-11-25",
        18,
        "the birthday counts: Family Law Reform Act 1969 s.9 (from memory)",
    ),
    ("2008-11-26", "2026-11-25", 17, ""),
    ("2008-02-29", "2026-02-28", 17, "29 February: 1 March is the cautious reading (from memory)"),
    ("2008-02-29", "2026-03-01", 18, ""),
    ("2004-02-29", "2026-02-28", 21, "dateutil says 22"),
    ("2004-02-29", "2026-03-01", 22, ""),
]


@pytest.mark.parametrize(("born", "on", "years", "why"), AGES)
def test_completed_years(born: str, on: str, years: int, why: str) -> None:
    assert age_years(date.fromisoformat(born), date.fromisoformat(on)) == years, why


def test_nobody_has_an_age_before_birth() -> None:
    with pytest.raises(ValueError, match="after the date"):
        age_years(date(2026, 1, 2), date(2026, 1, 1))


days = st.dates(date(1900, 1, 1), date(2100, 12, 31))


@given(days, days)
def test_dateutil_agrees_except_on_leap_day_births(a: date, b: date) -> None:
    born, on = min(a, b), max(a, b)
    if (born.month, born.day) != (2, 29):
        assert age_years(born, on) == relativedelta(on, born).years

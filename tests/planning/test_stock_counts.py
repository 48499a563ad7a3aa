"""
What a count says of one unit. The rules are the issue's own words: what was opened, moved or
received between counting and posting is no difference; common practice, no other source.
"""

from datetime import UTC, datetime, timedelta

import pytest

from planning.stock_counts import Finding, Standing, Whereabouts, judge

BEGUN = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


def at(minutes: int) -> datetime:
    return BEGUN + timedelta(minutes=minutes)


HERE, ELSEWHERE, OPENED, GONE = Whereabouts

# Where it is by the books, when that changed last, when it was seen (minutes), what follows.
IN_A_PLACE = [
    (HERE, -5, 10, Finding.AS_EXPECTED),
    (HERE, 5, 10, Finding.AS_EXPECTED),  # received during the count, then seen
    (HERE, -5, None, Finding.MISSING),
    (HERE, 0, None, Finding.MISSING),  # it lay there when the count began
    (HERE, 5, None, Finding.CHANGED),  # received or put back on a shelf counted before
    (HERE, 15, 10, Finding.CHANGED),
    (ELSEWHERE, -5, 10, Finding.MOVED),
    (ELSEWHERE, 15, 10, Finding.CHANGED),  # seen here, then carried away
    (ELSEWHERE, -5, None, Finding.NOT_ASKED),
    (GONE, -5, 10, Finding.FOUND),
    (GONE, 15, 10, Finding.CHANGED),  # seen, then returned to the supplier
    (GONE, 5, None, Finding.NOT_ASKED),
    (OPENED, -5, 10, Finding.OPENED),
    (OPENED, 15, 10, Finding.CHANGED),  # seen, then opened
    (OPENED, 5, None, Finding.NOT_ASKED),  # opened before anybody came to it
]


@pytest.mark.parametrize(("where", "changed", "seen", "finding"), IN_A_PLACE)
def test_one_place(where: Whereabouts, changed: int, seen: int | None, finding: Finding) -> None:
    unit = Standing(where, at(changed), None if seen is None else at(seen))
    assert judge(unit, started_at=BEGUN, has_place=True) is finding


def test_without_a_place_nothing_is_moved() -> None:
    unit = Standing(ELSEWHERE, at(-5), at(10))
    assert judge(unit, started_at=BEGUN, has_place=False) is Finding.ELSEWHERE


def test_only_what_changes_the_books_is_a_difference() -> None:
    differing = [finding for finding in Finding if finding.is_difference]
    assert differing == [Finding.MISSING, Finding.MOVED, Finding.FOUND]

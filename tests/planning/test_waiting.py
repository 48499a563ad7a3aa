"""
Who fits a time that came free, in which order, and until when an offer holds it.

Expected values are reckoned by hand or by the plain definition. Where the hours of the day matter
the clocks of Europe/London are used (IANA time zone database).
"""

from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from planning.free_slots import DiarySpans, RoomAt, VisitLength, WorkingSpan, cell_of
from planning.quiet_hours import QuietHours, is_quiet
from planning.waiting import DayPart, Freed, Need, fits, held_until, in_order, suits

LONDON = ZoneInfo("Europe/London")
NIGHT = QuietHours(time(20), time(8))
NEVER = QuietHours(time(0), time(0))
ANA, SITE = 1, 7


def at(text: str) -> datetime:
    """By London's clock: "2027-03-02 10:00", a Tuesday."""
    return datetime.fromisoformat(text).replace(tzinfo=LONDON)


NOW = at("2027-03-01 09:00")


def need(**fields) -> Need:
    fields = {"key": 1, "since": NOW, "first": date(2027, 3, 1), **fields}
    return Need(visit=VisitLength.of_minutes(*fields.pop("minutes", (30, 0, 0))), **fields)


def freed(starts: str, minutes: int = 30, *, busy=(), rooms=(), works=("09:00", "17:00")) -> Freed:
    start = cell_of(at(starts))
    day = starts[:10]
    working = WorkingSpan(ANA, SITE, *(cell_of(at(f"{day} {clock}")) for clock in works))
    return Freed(
        ANA,
        (start, start + minutes // 5),
        DiarySpans([working], {ANA: spans(day, busy)}, {1: spans(day, rooms)}),
    )


def spans(day: str, texts) -> list[tuple[int, int]]:
    """ "10:00-10:30" of a day, in cells."""
    return [tuple(cell_of(at(f"{day} {clock}")) for clock in text.split("-")) for text in texts]


def start(found) -> str | None:
    return None if found is None else f"{found.starts_at.astimezone(LONDON):%H:%M}"


@pytest.mark.parametrize(
    ("fields", "why"),
    [
        ({"practitioner": 2}, "waits for somebody else"),
        ({"site": 8}, "wants another site"),
        ({"first": date(2027, 3, 3)}, "not before the day after"),
        ({"last": date(2027, 3, 1)}, "the last day that suits is over"),
        ({"weekdays": frozenset({1, 3, 4, 5, 6, 7})}, "Tuesdays do not suit"),
        ({"part": DayPart.AFTERNOON}, "comes after noon only"),
        ({"notice": timedelta(hours=26)}, "needs to hear of it an hour earlier"),
        ({"minutes": (125, 0, 0)}, "longer than what is free until noon"),
        ({"minutes": (30, 90, 0)}, "its preparation would begin before the work of the day"),
        ({"busy": spans("2027-03-02", ["10:00-11:30"])}, "has something else"),
        ({"rooms": [RoomAt(1, SITE)]}, "the only room that suits is taken"),
        ({"rooms": []}, "no room suits"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_who_does_not_fit(fields, why):
    time_of_ana = freed("2027-03-02 10:00", 30, rooms=["09:00-17:00"], works=("09:00", "12:00"))
    assert start(fits(need(), time_of_ana, now=NOW, zone=LONDON)) == "10:00"
    assert fits(need(**fields), time_of_ana, now=NOW, zone=LONDON) is None


@pytest.mark.parametrize(
    ("fields", "starts"),
    [
        ({}, "10:00"),
        ({"minutes": (60, 0, 0)}, "10:00"),  # on into what was free already
        ({"minutes": (30, 10, 0)}, "10:10"),  # somebody is there until ten
        ({"minutes": (20, 5, 5), "busy": spans("2027-03-02", ["09:00-10:15"])}, "10:15"),
    ],
)
def test_the_first_start_in_the_freed_time_at_which_all_are_free(fields, starts):
    beside = freed("2027-03-02 10:00", 30, busy=["09:00-10:00", "11:00-12:00"])
    assert start(fits(need(**fields), beside, now=NOW, zone=LONDON)) == starts


def test_what_was_given_away_since_does_not_fit():
    taken = freed("2027-03-02 10:00", 30, busy=["10:00-10:30"])
    assert fits(need(minutes=(5, 0, 0)), taken, now=NOW, zone=LONDON) is None


def test_a_time_that_is_over_fits_nobody():
    over = freed("2027-03-02 10:00", 30)
    assert fits(need(minutes=(10, 0, 0)), over, now=at("2027-03-02 10:30"), zone=LONDON) is None
    begun = fits(need(minutes=(10, 0, 0)), over, now=at("2027-03-02 10:07"), zone=LONDON)
    assert start(begun) == "10:10"


@pytest.mark.parametrize(
    ("starts", "part", "suited"),
    [
        ("2027-03-02 11:55", DayPart.MORNING, True),
        ("2027-03-02 12:00", DayPart.MORNING, False),
        ("2027-03-02 11:55", DayPart.AFTERNOON, False),
        ("2027-03-02 12:00", DayPart.AFTERNOON, True),
        # Noon in London in summer is eleven o'clock in UTC.
        ("2027-07-06 11:30", DayPart.MORNING, True),
        ("2027-07-06 12:00", DayPart.AFTERNOON, True),
    ],
)
def test_noon_is_the_clinics_noon(starts, part, suited):
    assert suits(need(part=part), at(starts), now=NOW, zone=LONDON) is suited


MINUTES = st.integers(0, 7 * 24 * 12).map(lambda count: timedelta(minutes=5 * count))


@given(
    st.frozensets(st.integers(1, 7)), st.sampled_from(DayPart), st.integers(0, 72), MINUTES,
    st.integers(0, 6), st.none() | st.integers(0, 6),
)  # fmt: skip
def test_who_suits_is_who_would_say_yes(weekdays, part, hours, ahead, first, last):
    """Against the sentence on the form, word by word."""
    monday = date(2027, 3, 1)
    asked = need(
        weekdays=weekdays, part=part, notice=timedelta(hours=hours),
        first=monday + timedelta(days=first),
        last=None if last is None else monday + timedelta(days=last),
    )  # fmt: skip
    starts_at = NOW + ahead
    day, hour = (NOW + ahead).date(), (NOW + ahead).hour
    says_no = [
        day < asked.first,
        asked.last is not None and day > asked.last,
        day.weekday() + 1 not in weekdays,
        part == "morning" and hour >= 12,
        part == "afternoon" and hour < 12,
        ahead.total_seconds() < hours * 3600,
    ]
    assert suits(asked, starts_at, now=NOW, zone=LONDON) is not any(says_no)


WAITING = st.builds(
    lambda key, urgent, days: need(key=key, is_urgent=urgent, since=NOW - timedelta(days=days)),
    st.integers(1, 50), st.booleans(), st.integers(0, 9),
)  # fmt: skip


@given(st.lists(WAITING, unique_by=lambda one: one.key))
def test_urgent_ones_come_first_and_then_who_waits_longest(needs):
    ordered = in_order(needs)
    assert sorted(one.key for one in ordered) == sorted(one.key for one in needs)
    for before, after in pairwise(ordered):
        assert before.is_urgent >= after.is_urgent
        if before.is_urgent == after.is_urgent:
            assert (before.since, before.key) < (after.since, after.key)
    assert in_order(reversed(needs)) == ordered


def until(now: str, starts: str = "2027-03-09 10:00", *, minutes=120, margin=60, quiet=NIGHT):
    found = held_until(
        at(now), at(starts), minutes=minutes, margin_minutes=margin, quiet=quiet, zone=LONDON
    )
    return None if found is None else f"{found.astimezone(LONDON):%d %H:%M}"


@pytest.mark.parametrize(
    ("now", "starts", "ends"),
    [
        ("2027-03-02 10:00", "2027-03-09 10:00", "02 12:00"),
        ("2027-03-02 18:00", "2027-03-09 10:00", "02 20:00"),
        ("2027-03-02 19:30", "2027-03-09 10:00", "03 09:30"),  # half an hour, and the rest
        ("2027-03-02 23:00", "2027-03-09 10:00", "03 10:00"),
        ("2027-03-03 02:00", "2027-03-09 10:00", "03 10:00"),
        ("2027-03-02 10:00", "2027-03-02 12:00", "02 11:00"),  # an hour before the start
        ("2027-03-02 10:00", "2027-03-02 11:00", None),
        ("2027-03-02 18:30", "2027-03-03 08:30", "02 20:00"),  # not at half past seven
        ("2027-03-02 18:30", "2027-03-03 09:00", "02 20:00"),  # nor as the night ends
        ("2027-03-02 20:30", "2027-03-03 08:30", None),
        # The clocks go forward in the night to Sunday 28 March, and back in that to 31 October.
        ("2027-03-27 19:00", "2027-04-05 10:00", "28 09:00"),
        ("2027-10-30 19:00", "2027-11-05 10:00", "31 09:00"),
    ],
)
def test_an_offer_ends_after_two_hours_of_the_day_and_an_hour_before_the_start(now, starts, ends):
    assert until(now, starts) == ends


def test_a_long_offer_passes_over_several_nights():
    assert until("2027-03-02 10:00", minutes=24 * 60) == "04 10:00"  # 10 + 12 + 2 hours


def test_without_quiet_hours_only_the_minutes_count():
    assert until("2027-03-02 23:00", quiet=NEVER) == "03 01:00"


CLOCKS = st.integers(0, 95).map(lambda count: time(count // 4, count % 4 * 15))


@given(
    st.integers(0, 60 * 24 * 40), st.integers(0, 60 * 24 * 3), st.integers(1, 600),
    st.integers(0, 600), st.builds(QuietHours, CLOCKS, CLOCKS),
)  # fmt: skip
@example(60 * 24 * 26, 1200, 120, 60, NIGHT)
@settings(max_examples=60)
def test_an_offer_never_ends_in_the_night_nor_within_the_margin(
    after, ahead, minutes, margin, quiet
):
    now = at("2027-03-01 00:00").astimezone(UTC) + timedelta(minutes=after)
    starts_at = now + timedelta(minutes=ahead)
    end = held_until(
        now, starts_at, minutes=minutes, margin_minutes=margin, quiet=quiet, zone=LONDON
    )
    if end is None:
        return
    assert now < end <= starts_at - timedelta(minutes=margin)
    # Up to its end it is day: at the very moment quiet hours begin it has just ended.
    assert not is_quiet(end - timedelta(microseconds=1), quiet, LONDON)
    loud = sum(
        not is_quiet(now + timedelta(minutes=count), quiet, LONDON)
        for count in range(int((end - now) / timedelta(minutes=1)))
    )
    assert loud <= minutes

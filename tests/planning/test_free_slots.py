"""
Slots that fit, by hand and against trying every start cell by cell.

Clock changes of Europe/London: IANA tz database (25 October 2026 and 28 March 2027, at 01:00 UTC).
"""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.free_slots import (
    DiarySpans,
    RoomAt,
    Slot,
    SlotError,
    VisitLength,
    WorkingSpan,
    cell_of,
    free_slots,
    local_midnights,
    moment_of,
)

LONDON = ZoneInfo("Europe/London")
MONDAY = date(2026, 11, 30)
ADA, BEN = 1, 2
HARBOUR, HILL = 1, 2
ROOM_1, ROOM_2, ROOM_ON_THE_HILL = RoomAt(11, HARBOUR), RoomAt(12, HARBOUR), RoomAt(21, HILL)
HALF_AN_HOUR = VisitLength.of_minutes(30)
WITH_MARGINS = VisitLength.of_minutes(30, preparation=5, buffer=10)


def at(text: str, day: date = MONDAY, zone: ZoneInfo = LONDON) -> int:
    return cell_of(datetime.combine(day, time.fromisoformat(text), tzinfo=zone))


def works(person: int, start: str, end: str, site: int = HARBOUR) -> WorkingSpan:
    return WorkingSpan(person, site, at(start), at(end))


def diary(*working, practitioners=None, rooms=None, patient=()) -> DiarySpans:
    return DiarySpans(working, practitioners or {}, rooms or {}, patient)


def found(spans: DiarySpans, visit: VisitLength, **asked) -> list[Slot]:
    asked = {
        "window": (at("00:00"), at("23:55")),
        "midnights": local_midnights(MONDAY, MONDAY, LONDON),
    } | asked
    return free_slots(spans, visit, **asked)


def starts(slots: list[Slot]) -> list[str]:
    return [f"{slot.starts_at.astimezone(LONDON):%H:%M}" for slot in slots]


def test_a_cell_is_five_minutes_since_1970():
    moment = datetime(2026, 11, 30, 9, 4, 59, tzinfo=UTC)
    assert moment_of(cell_of(moment)) == datetime(2026, 11, 30, 9, 0, tzinfo=UTC)
    assert cell_of(datetime(1970, 1, 1, 0, 10, tzinfo=UTC)) == 2


def test_the_first_starts_of_an_empty_morning():
    slots = found(diary(works(ADA, "09:00", "10:15")), HALF_AN_HOUR)
    assert starts(slots) == ["09:00", "09:15", "09:30", "09:45"]
    assert slots[0] == Slot(at("09:00"), ADA, HARBOUR, None)


def test_preparation_and_buffer_lie_within_the_working_time():
    slots = found(diary(works(ADA, "09:00", "10:00")), WITH_MARGINS, step_minutes=5)
    assert starts(slots) == ["09:05", "09:10", "09:15", "09:20"]


def test_a_break_is_not_booked_over():
    spans = diary(works(ADA, "09:00", "09:30"), works(ADA, "10:00", "10:30"))
    assert starts(found(spans, HALF_AN_HOUR)) == ["09:00", "10:00"]


def test_spans_that_touch_are_one():
    spans = diary(works(ADA, "09:00", "09:15"), works(ADA, "09:15", "09:30"))
    assert starts(found(spans, HALF_AN_HOUR)) == ["09:00"]


def test_nobody_is_at_two_sites_in_one_visit():
    spans = diary(works(ADA, "09:00", "09:15"), works(ADA, "09:15", "09:30", HILL))
    assert found(spans, HALF_AN_HOUR) == []


def test_the_patient_is_needed_for_the_visit_alone():
    """Another visit of theirs ends as this one starts: preparation does not need the patient."""
    spans = diary(works(ADA, "09:00", "10:00"), patient=[(at("09:00"), at("09:10"))])
    assert starts(found(spans, WITH_MARGINS, step_minutes=5))[0] == "09:10"


def test_the_practitioner_is_needed_for_preparation_and_buffer():
    taken = {ADA: [(at("09:00"), at("09:10")), (at("09:50"), at("10:00"))]}
    spans = diary(works(ADA, "09:00", "11:00"), practitioners=taken)
    assert starts(found(spans, WITH_MARGINS, step_minutes=5, limit=1)) == ["10:05"]
    assert starts(found(spans, HALF_AN_HOUR, step_minutes=5, limit=2)) == ["09:10", "09:15"]


def test_the_first_room_that_is_free_is_named():
    spans = diary(works(ADA, "09:00", "10:00"), rooms={11: [(at("09:30"), at("09:40"))]})
    slots = found(spans, HALF_AN_HOUR, rooms=[ROOM_1, ROOM_2], step_minutes=30)
    assert [(slot.start, slot.room) for slot in slots] == [(at("09:00"), 11), (at("09:30"), 12)]


def test_a_room_of_another_site_does_not_do():
    spans = diary(works(ADA, "09:00", "10:00"), works(BEN, "14:00", "15:00", HILL))
    slots = found(spans, HALF_AN_HOUR, rooms=[ROOM_ON_THE_HILL], limit=1)
    assert slots == [Slot(at("14:00"), BEN, HILL, 21)]


def test_a_kind_that_needs_a_room_is_not_booked_where_no_room_suits():
    assert found(diary(works(ADA, "09:00", "10:00")), HALF_AN_HOUR, rooms=[]) == []


def test_the_preferred_practitioner_comes_first_and_the_others_after():
    spans = diary(works(ADA, "09:00", "10:00"), works(BEN, "11:00", "11:45"))
    slots = found(spans, HALF_AN_HOUR, practitioner=BEN, limit=3)
    assert [slot.practitioner for slot in slots] == [BEN, BEN, ADA]
    assert starts(slots) == ["11:00", "11:15", "09:00"]


def test_a_start_is_offered_once_with_whom_the_list_names_first():
    spans = diary(works(BEN, "09:00", "10:00"), works(ADA, "09:00", "10:00"))
    assert [slot.practitioner for slot in found(spans, HALF_AN_HOUR)] == [BEN, BEN, BEN]


def test_the_nearest_to_a_moment_come_first_and_the_earlier_of_two():
    spans = diary(works(ADA, "09:00", "12:00"))
    slots = found(spans, HALF_AN_HOUR, near=at("10:30"), step_minutes=30)
    assert starts(slots) == ["10:30", "10:00", "11:00", "09:30", "11:30"]


@pytest.mark.parametrize(("moment", "first"), [("02:00", "09:00"), ("22:00", "11:30")])
def test_a_moment_outside_of_the_working_time_orders_from_its_side(moment, first):
    slots = found(diary(works(ADA, "09:00", "12:00")), HALF_AN_HOUR, near=at(moment), limit=1)
    assert starts(slots) == [first]


def test_the_window_holds_the_starts():
    spans = diary(works(ADA, "09:00", "17:00"))
    slots = found(spans, HALF_AN_HOUR, window=(at("09:10"), at("09:45")), limit=9)
    assert starts(slots) == ["09:15", "09:30"]


def test_a_step_that_a_clock_change_would_break_is_refused():
    with pytest.raises(SlotError, match="20 minutes"):
        found(diary(), HALF_AN_HOUR, step_minutes=20)


def test_a_visit_takes_time():
    with pytest.raises(SlotError):
        VisitLength.of_minutes(0)


def test_a_visit_of_odd_minutes_takes_the_cell_it_begins():
    assert VisitLength.of_minutes(31, 1, 0) == VisitLength(7, before=1, after=0)


@pytest.mark.parametrize(
    ("before", "after", "hours"),
    [(date(2026, 10, 24), date(2026, 10, 25), 25), (date(2027, 3, 27), date(2027, 3, 28), 23)],
)
def test_ten_o_clock_stays_ten_o_clock_across_a_change_of_the_clocks(before, after, hours):
    """10:00 to 10:00 over the change is 25 hours in October and 23 in March."""
    spans = DiarySpans(
        [WorkingSpan(ADA, HARBOUR, at("10:00", day), at("10:30", day)) for day in (before, after)],
        {},
        {},
    )
    midnights = local_midnights(before, after, LONDON)
    slots = free_slots(
        spans, HALF_AN_HOUR, window=(midnights[0], midnights[1] + 288), midnights=midnights
    )
    assert starts(slots) == ["10:00", "10:00"]
    assert slots[1].starts_at - slots[0].starts_at == timedelta(hours=hours)


def test_the_hour_that_comes_twice_is_offered_twice():
    """01:30 on 25 October 2026 is 00:30 and 01:30 UTC."""
    day = date(2026, 10, 25)
    (midnight,) = local_midnights(day, day, LONDON)
    spans = DiarySpans([WorkingSpan(ADA, HARBOUR, midnight, midnight + 36)], {}, {})
    slots = free_slots(
        spans, HALF_AN_HOUR, window=(midnight, midnight + 36), midnights=[midnight],
        step_minutes=30, limit=9,
    )  # fmt: skip
    assert starts(slots) == ["00:00", "00:30", "01:00", "01:30", "01:00", "01:30"]
    assert [slot.starts_at.hour for slot in slots if slot.starts_at.minute == 30] == [23, 0, 1]


def test_the_hour_that_is_left_out_is_not_offered():
    day = date(2027, 3, 28)
    (midnight,) = local_midnights(day, day, LONDON)
    spans = DiarySpans([WorkingSpan(ADA, HARBOUR, midnight, midnight + 36)], {}, {})
    slots = free_slots(
        spans, HALF_AN_HOUR, window=(midnight, midnight + 36), midnights=[midnight],
        step_minutes=30, limit=9,
    )  # fmt: skip
    assert starts(slots) == ["00:00", "00:30", "02:00", "02:30", "03:00", "03:30"]


def test_marks_follow_the_local_clock_where_it_is_a_quarter_apart_from_utc():
    """Asia/Kathmandu is UTC+05:45 (IANA tz database)."""
    zone = ZoneInfo("Asia/Kathmandu")
    start, end = at("09:00", zone=zone), at("09:30", zone=zone)
    slots = free_slots(
        DiarySpans([WorkingSpan(ADA, HARBOUR, start, end)], {}, {}),
        VisitLength(1), window=(start, end), midnights=local_midnights(MONDAY, MONDAY, zone),
        step_minutes=10,
    )  # fmt: skip
    assert [slot.start - start for slot in slots] == [0, 2, 4]


# Against trying every start

DAY_CELLS = 40
BASE = at("00:00")
cells = st.integers(min_value=-6, max_value=DAY_CELLS + 6)
spans = st.tuples(cells, st.integers(0, 12)).map(lambda s: (BASE + s[0], BASE + s[0] + s[1]))
some_spans = st.lists(spans, max_size=3)
people, sites = st.sampled_from([ADA, BEN]), st.sampled_from([HARBOUR, HILL])
working_spans = st.builds(
    lambda person, site, span: WorkingSpan(person, site, *span),
    people, sites, st.tuples(cells, st.integers(0, 30)).map(
        lambda s: (BASE + s[0], BASE + s[0] + s[1])
    ),
)  # fmt: skip
visits = st.builds(VisitLength, st.integers(1, 6), st.integers(0, 2), st.integers(0, 2))


def tried_one_by_one(spans, visit, *, window, rooms, step, practitioner, near):
    """Every start, every practitioner, every room, each cell asked by itself."""
    fitting = []
    order = list(dict.fromkeys((span.practitioner, span.site) for span in spans.working))
    for start in range(*window):
        if (start - BASE) % step:
            continue
        held = range(start - visit.before, start + visit.length + visit.after)
        seen = range(start, start + visit.length)
        if any(is_within(cell, spans.patient_busy) for cell in seen):
            continue
        for place, (person, site) in enumerate(order):
            hours = [
                (one.start, one.end)
                for one in spans.working
                if (one.practitioner, one.site) == (person, site)
            ]
            busy = spans.practitioners_busy.get(person, ())
            if not all(is_within(c, hours) and not is_within(c, busy) for c in held):
                continue
            suiting = [None] if rooms is None else [
                one.room
                for one in rooms
                if one.site == site
                and not any(is_within(c, spans.rooms_busy.get(one.room, ())) for c in held)
            ]  # fmt: skip
            if suiting:
                rank = (person != practitioner, abs(start - near), start, place)
                fitting.append((rank, Slot(start, person, site, suiting[0])))
    once: dict[int, Slot] = {}
    for _, slot in sorted(fitting):
        once.setdefault(slot.start, slot)
    return list(once.values())


def is_within(cell, spans) -> bool:
    return any(start <= cell < end for start, end in spans)


@settings(max_examples=150, deadline=None)
@given(
    working=st.lists(working_spans, max_size=5),
    busy=st.dictionaries(people, some_spans),
    rooms_busy=st.dictionaries(st.sampled_from([11, 12, 21]), some_spans),
    patient_busy=some_spans,
    visit=visits,
    rooms=st.none() | st.lists(st.sampled_from([ROOM_1, ROOM_2, ROOM_ON_THE_HILL]), unique=True),
    step=st.sampled_from([1, 2, 3]),
    practitioner=st.none() | people,
    near=st.none() | cells.map(lambda cell: BASE + cell),
    window=st.tuples(st.integers(0, DAY_CELLS), st.integers(0, DAY_CELLS)),
    limit=st.integers(0, 60),
)
def test_the_slots_are_those_of_trying_every_start(
    working, busy, rooms_busy, patient_busy, visit, rooms, step, practitioner, near, window, limit
):
    asked = DiarySpans(working, busy, rooms_busy, patient_busy)
    window = (BASE + window[0], BASE + window[1])
    slots = free_slots(
        asked, visit, window=window, midnights=[BASE], rooms=rooms, step_minutes=step * 5,
        practitioner=practitioner, near=near, limit=limit,
    )  # fmt: skip
    expected = tried_one_by_one(
        asked, visit, window=window, rooms=rooms, step=step, practitioner=practitioner,
        near=window[0] if near is None else near,
    )  # fmt: skip
    assert slots == expected[:limit]

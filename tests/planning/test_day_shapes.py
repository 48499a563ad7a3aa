"""A day cut into spans, by hand and, for any spans, against asking each hour by itself."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from planning.day_shapes import AwaySpan, Shade, ShadedSpan, WorkSpan, day_shape

MIDNIGHT = datetime(2026, 11, 30, tzinfo=UTC)
NEXT = MIDNIGHT + timedelta(days=1)
HARBOUR, HILL = 1, 2


def at(hour: float) -> datetime:
    return MIDNIGHT + timedelta(hours=hour)


def shades(work, away=()) -> list[tuple[str, float, float]]:
    shape = day_shape(MIDNIGHT, NEXT, work, away)
    return [
        (
            span.label or span.shade.value,
            *((edge - MIDNIGHT) / timedelta(hours=1) for edge in span[1:3]),
        )
        for span in shape
    ]


def test_what_lies_between_two_spans_of_work_is_a_break():
    work = [WorkSpan(at(14), at(18), HARBOUR), WorkSpan(at(9), at(13), HARBOUR)]
    assert shades(work) == [
        ("Not at work", 0, 9), ("working", 9, 13), ("Break", 13, 14), ("working", 14, 18),
        ("Not at work", 18, 24),
    ]  # fmt: skip


def test_a_day_without_work_is_one_span():
    assert day_shape(MIDNIGHT, NEXT, [], []) == [
        ShadedSpan(Shade.OFF, MIDNIGHT, NEXT, "Not at work")
    ]


def test_spans_that_touch_at_one_site_are_one_and_at_two_sites_are_two():
    one = day_shape(
        at(9), at(12), [WorkSpan(at(9), at(11), HARBOUR), WorkSpan(at(11), at(12), HARBOUR)], []
    )
    assert one == [ShadedSpan(Shade.WORKING, at(9), at(12), site=HARBOUR)]
    two = day_shape(
        at(9), at(12), [WorkSpan(at(9), at(11), HARBOUR), WorkSpan(at(11), at(12), HILL)], []
    )
    assert [span.site for span in two] == [HARBOUR, HILL]


def test_leave_over_midnight_covers_work_breaks_and_the_hours_around():
    work = [WorkSpan(at(9), at(13), HARBOUR)]
    leave = AwaySpan(at(-30), at(10), "Leave")
    assert shades(work, [leave]) == [
        ("Leave", 0, 10), ("working", 10, 13), ("Not at work", 13, 24),
    ]  # fmt: skip


spans = st.tuples(st.integers(-3, 27), st.integers(1, 8)).map(lambda s: (at(s[0]), at(sum(s))))
works = spans.map(lambda span: WorkSpan(*span, HARBOUR))
leaves = st.builds(lambda span, label: AwaySpan(*span, label), spans, st.sampled_from("ab"))


@settings(max_examples=100, deadline=None)
@given(work=st.lists(works, max_size=3), away=st.lists(leaves, max_size=3))
def test_each_hour_of_the_day_is_in_one_span_that_says_what_it_is(work, away):
    shape = day_shape(MIDNIGHT, NEXT, work, away)
    assert (shape[0].start, shape[-1].end) == (MIDNIGHT, NEXT)
    assert all(one.end == following.start for one, following in pairwise(shape))
    for hour in range(24):
        moment = at(hour)
        (span,) = (span for span in shape if span.start <= moment < span.end)
        label = next((one.label for one in away if one.start <= moment < one.end), None)
        is_worked = any(one.start <= moment < one.end for one in work)
        assert (span.shade is Shade.ABSENT) == (label is not None)
        assert (span.shade is Shade.WORKING) == (is_worked and label is None)
        if label:
            assert span.label == label

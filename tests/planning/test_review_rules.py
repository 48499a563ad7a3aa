"""Which rule asks for a review, and what one visit can answer. Expected values by hand."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.atlas.region_groups import RegionGroup
from planning.review_dates import Interval, IntervalUnit, OpenDays, ReviewRule, review_date
from planning.review_rules import (
    Asked,
    Given,
    ReviewEvent,
    RuleChoice,
    asking,
    event_of,
    most_specific,
    visits,
)
from planning.vocabulary import ProductKind

FILLER, TOXIN, ANAESTHETIC = ProductKind.HA_FILLER, ProductKind.TOXIN, ProductKind.ANAESTHETIC
LIPS, UPPER = RegionGroup.LIPS, RegionGroup.UPPER_FACE
TREATMENT, FIRST, LATER = ReviewEvent.TREATMENT, ReviewEvent.FIRST, ReviewEvent.LATER
TOP_UP, ADVERSE = ReviewEvent.TOP_UP, ReviewEvent.ADVERSE_EVENT


def chosen(rules: list[RuleChoice], event=FIRST, kind=FILLER, group=LIPS) -> int | None:
    rule = most_specific(rules, event, kind=kind, group=group)
    return rule.key if rule else None


@pytest.mark.parametrize(
    ("winner", "loser"),
    [
        # More named before less.
        (RuleChoice(2, TREATMENT, FILLER, LIPS), RuleChoice(1, FIRST)),
        (RuleChoice(2, FIRST, FILLER, LIPS), RuleChoice(1, FIRST, FILLER)),
        (RuleChoice(2, FIRST), RuleChoice(1, TREATMENT)),
        # Of equally many: the kind, then the event, then the part of the body.
        (RuleChoice(2, TREATMENT, FILLER), RuleChoice(1, FIRST)),
        (RuleChoice(2, FIRST, None, None), RuleChoice(1, TREATMENT, None, LIPS)),
        (RuleChoice(2, FIRST, FILLER), RuleChoice(1, TREATMENT, FILLER, LIPS)),
        (RuleChoice(2, TREATMENT, FILLER, LIPS), RuleChoice(1, FIRST, None, LIPS)),
        # The older of two that fit alike.
        (RuleChoice(1, FIRST, FILLER), RuleChoice(2, FIRST, FILLER)),
    ],
)
def test_the_most_specific_rule_decides(winner: RuleChoice, loser: RuleChoice) -> None:
    assert chosen([winner, loser]) == chosen([loser, winner]) == winner.key


@pytest.mark.parametrize(
    ("rule", "event", "fits"),
    [
        (RuleChoice(1, TREATMENT), FIRST, True),
        (RuleChoice(1, TREATMENT), LATER, True),
        (RuleChoice(1, TREATMENT), TOP_UP, True),
        (RuleChoice(1, TREATMENT), ADVERSE, False),
        (RuleChoice(1, FIRST), TOP_UP, False),
        (RuleChoice(1, ADVERSE), ADVERSE, True),
        (RuleChoice(1, ADVERSE), FIRST, False),
        (RuleChoice(1, FIRST, TOXIN), FIRST, False),
        (RuleChoice(1, FIRST, None, UPPER), FIRST, False),
    ],
)
def test_a_rule_is_for_what_it_names(rule: RuleChoice, event: ReviewEvent, fits: bool) -> None:
    assert (chosen([rule], event) == 1) is fits


def test_a_rule_for_a_part_is_not_for_what_nobody_placed() -> None:
    rule = RuleChoice(1, ADVERSE, FILLER, LIPS)
    assert chosen([rule], ADVERSE, FILLER, None) is None
    assert chosen([RuleChoice(1, ADVERSE, FILLER)], ADVERSE, FILLER, None) == 1


rules = st.builds(
    RuleChoice,
    st.integers(1, 9),
    st.sampled_from(ReviewEvent),
    st.none() | st.sampled_from([FILLER, TOXIN]),
    st.none() | st.sampled_from([LIPS, UPPER]),
)


@given(st.lists(rules, max_size=8), st.sampled_from(ReviewEvent))
def test_no_rule_that_fits_names_more_than_the_one_that_decides(
    all_rules: list[RuleChoice], event: ReviewEvent
) -> None:
    def named(rule: RuleChoice) -> int:
        return (rule.kind is not None) + (rule.group is not None) + (rule.event is not TREATMENT)

    fitting = [rule for rule in all_rules if rule.fits(event, FILLER, LIPS)]
    found = most_specific(all_rules, event, kind=FILLER, group=LIPS)
    assert (found is None) == (not fitting)
    if found:
        assert named(found) == max(named(rule) for rule in fitting)


@pytest.mark.parametrize(
    ("earlier", "event"),
    [
        ([], FIRST),
        (["2026-10-14"], TOP_UP),  # 42 days before, by hand
        (["2026-10-13"], LATER),
        (["2025-01-01", "2026-11-01"], TOP_UP),  # the last one counts
        (["2026-11-25"], TOP_UP),  # a second session on the day
    ],
)
def test_a_treatment_is_a_first_a_later_one_or_a_top_up(earlier, event) -> None:
    days = [date.fromisoformat(day) for day in earlier]
    assert event_of(date(2026, 11, 25), days, top_up_days=42) is event


def test_an_anaesthetic_asks_for_nothing_beside_what_it_was_given_for() -> None:
    block, lips = Given(ANAESTHETIC, LIPS), Given(FILLER, LIPS)
    assert asking([block, lips]) == {lips}
    assert asking([block]) == {block}


EVERY_DAY = OpenDays(frozenset(range(7)))
TREATED = date(2026, 11, 2)


def asked(key: int | None, days: int, early: int = 0, late: int = 0) -> Asked:
    rule = ReviewRule(Interval(days, IntervalUnit.DAY), -early, late)
    return Asked(key, review_date(TREATED, rule, EVERY_DAY.is_open), f"rule {key}")


def days_of(found) -> list[tuple[int, int, int]]:
    """Earliest, target and latest of each visit, in days after the treatment."""
    return [
        tuple((day - TREATED).days for day in (one.earliest, one.target, one.latest))
        for one in found
    ]


@pytest.mark.parametrize(
    ("reviews", "expected", "why"),
    [
        ([(14, 2, 14), (21, 7, 7)], [(14, 14, 28)], "the earlier target lies in both windows"),
        ([(14, 0, 7), (21, 0, 7)], [(21, 21, 21)], "only the later target does"),
        ([(14, 0, 6), (21, 0, 7)], [(14, 14, 20), (21, 21, 28)], "a day apart: two visits"),
        ([(10, 0, 10), (30, 12, 0)], [(18, 18, 20)], "no target does: the first day they share"),
        ([(14, 0, 7), (14, 0, 3)], [(14, 14, 17)], "the same day"),
        ([(10, 0, 6), (15, 2, 9), (24, 4, 4)], [(13, 15, 16), (20, 24, 28)], "three in two"),
        ([], [], "nothing asked"),
    ],
)
def test_reviews_whose_windows_overlap_are_one_visit(reviews, expected, why: str) -> None:
    found = visits([asked(n, *review) for n, review in enumerate(reviews)], EVERY_DAY.is_open)
    assert days_of(found) == expected, why


def test_windows_that_share_only_closed_days_stay_apart() -> None:
    # Both windows hold Saturday 21 and Sunday 22 November alone.
    weekdays = OpenDays(frozenset(range(5)))
    first = Asked(1, review_date(TREATED, ReviewRule(Interval(17, IntervalUnit.DAY), 0, 3),
                                 weekdays.is_open), "first")  # fmt: skip
    second = Asked(2, review_date(TREATED, ReviewRule(Interval(21, IntervalUnit.DAY), -2, 0),
                                  weekdays.is_open), "second")  # fmt: skip
    assert (first.dates.latest, second.dates.earliest) == (date(2026, 11, 22), date(2026, 11, 21))
    assert [one.words for one in visits([second, first], weekdays.is_open)] == ["first", "second"]


@pytest.mark.parametrize(
    ("reviews", "words"),
    [
        ([(14, 2, 14), (21, 7, 7)], "rule 0; rule 1"),
        (
            [(10, 0, 10), (30, 12, 0)],
            "rule 0; rule 1; Friday 20 November 2026 is the first open day that suits both",
        ),
        (
            [(10, 0, 10), (30, 10, 0)],
            "rule 0; rule 1; Sunday 22 November 2026 is the only open day that suits both",
        ),
        (
            [(10, 0, 10), (30, 10, 0), (40, 20, 0)],
            "rule 0; rule 1; rule 2; Sunday 22 November 2026 is the only open day that suits all 3",
        ),
    ],
)
def test_a_visit_on_a_day_that_no_rule_names_says_why(reviews, words: str) -> None:
    (visit,) = visits([asked(n, *review) for n, review in enumerate(reviews)], EVERY_DAY.is_open)
    assert visit.words == words


@given(
    st.lists(
        st.tuples(st.integers(1, 60), st.integers(0, 20), st.integers(0, 20)), min_size=1,
        max_size=6,
    ),
    st.frozensets(st.integers(0, 6), min_size=1),
)  # fmt: skip
def test_every_review_is_answered_by_one_visit_in_its_window_on_an_open_day(reviews, weekdays):
    clinic = OpenDays(weekdays)
    all_asked = [
        Asked(
            key,
            review_date(
                TREATED, ReviewRule(Interval(n, IntervalUnit.DAY), -early, late), clinic.is_open
            ),
            "",
        )
        for key, (n, early, late) in enumerate(reviews)
    ]
    found = visits(all_asked, clinic.is_open)
    assert sorted(one.key or 0 for visit in found for one in visit.asked) == sorted(
        one.key or 0 for one in all_asked
    )
    for visit in found:
        assert clinic.is_open(visit.target)
        assert visit.earliest <= visit.target <= visit.latest
        for one in visit.asked:
            assert one.dates.earliest <= visit.earliest <= visit.latest <= one.dates.latest


def test_a_visit_says_all_its_rules_and_from_where_it_was_moved() -> None:
    weekdays = OpenDays(frozenset(range(5)))
    rule = ReviewRule(Interval(12, IntervalUnit.DAY), 0, 7)  # Saturday 14 November
    one = Asked(1, review_date(TREATED, rule, weekdays.is_open), "Lips")
    two = Asked(None, review_date(TREATED, rule, weekdays.is_open), "general")
    (visit,) = visits([one, two], weekdays.is_open)
    assert visit.words == "general; Lips"
    assert visit.moved_from == date(2026, 11, 14)
    assert visit.target - visit.moved_from == timedelta(days=2)

"""
Whom the clinic turns to next.

That complications and recalls come first is the clinic's rule; the number of tries and what follows
on them are common practice, no source. The expected steps are worked out by hand.
"""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.follow_up import (
    Case,
    Kind,
    Standing,
    Step,
    Tries,
    Try,
    TryOutcome,
    Visit,
    Way,
    folded,
    next_step,
    standing_of,
    urgency,
    way_of,
)
from planning.review_dates import ReviewState

NOW = datetime(2026, 12, 9, 10, 0, tzinfo=UTC)
LIMIT = 3
PHONE, EMAIL, ADDRESS = "020 7946 0101", "ann@example.org", "1 Quiet Lane"
ALL_WAYS = {"phone": PHONE, "email": EMAIL, "address": ADDRESS}


def case(kind=Kind.REVIEW, source="review", pk=1, **fields) -> Case:
    fields = {
        "state": ReviewState.DUE, "deadline_on": date(2026, 12, 16), "phone": PHONE, **fields,
    }  # fmt: skip
    return Case(kind, source, pk, **fields)


def tried(*outcomes, way=Way.PHONE, **fields) -> Tries:
    return folded(
        Try(way, TryOutcome(outcome), NOW - timedelta(hours=9), **fields) for outcome in outcomes
    )


def step(of: Case, *, clinical: bool = True) -> Step:
    return next_step(of, limit=LIMIT, clinical=clinical)


NO_ANSWER_THRICE = tried("no_answer", "message_left", "no_answer")


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({}, Step.CALL),
        ({"prefers": Way.EMAIL, "email": EMAIL}, Step.CALL),  # nothing can be sent from here
        ({"prefers": Way.EMAIL, "email": EMAIL, "may_send": True}, Step.SEND),
        ({"prefers": Way.SMS, "may_send": True}, Step.SEND),
        ({"prefers": Way.SMS, "may_send": True, "is_sent": True}, Step.CALL),
        ({"prefers": Way.EMAIL, "may_send": True}, Step.CALL),  # no e-mail address on record
        ({"prefers": Way.LETTER, "address": ADDRESS}, Step.WRITE),
        ({"prefers": Way.LETTER}, Step.CALL),  # no postal address on record
        ({"phone": "", "email": EMAIL}, Step.WRITE),
        ({"phone": ""}, Step.FIND),
        ({"tries": tried("wrong", used=PHONE)}, Step.FIND),
        ({"tries": tried("wrong", used="the old number")}, Step.CALL),  # corrected since
        ({"tries": tried("reached")}, Step.BOOK),
        ({"tries": tried("no_answer", "no_answer", "later")}, Step.CALL),
        ({"tries": NO_ANSWER_THRICE}, Step.EXCUSE),
        ({"tries": NO_ANSWER_THRICE, "address": ADDRESS}, Step.WRITE),
        ({"visit": Visit.TO_COME, "tries": NO_ANSWER_THRICE}, Step.VISIT),
        ({"visit": Visit.UNSAID}, Step.VISIT),
        ({"visit": Visit.SEEN}, Step.CLOSE),
    ],
)
def test_a_review_has_one_next_step(fields, expected):
    assert step(case(**fields)) is expected


def test_after_the_letter_the_review_is_excused():
    written = folded(
        [
            *[Try(Way.PHONE, TryOutcome.NO_ANSWER, NOW)] * 3,
            Try(Way.LETTER, TryOutcome.MESSAGE_LEFT, NOW),
        ]
    )
    assert step(case(tries=written, **ALL_WAYS)) is Step.EXCUSE


def test_a_call_that_reaches_the_patient_starts_the_count_anew():
    tries = tried("no_answer", "no_answer", "reached", "no_answer")
    assert (tries.made, tries.fruitless, tries.is_reached) == (4, 1, False)
    assert standing_of(case(tries=tries), limit=LIMIT) is Standing.DUE


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({}, Step.CALL),
        ({"prefers": Way.LETTER, "address": ADDRESS}, Step.CALL),
        ({"tries": NO_ANSWER_THRICE, "address": ADDRESS}, Step.WRITE),
        ({"tries": NO_ANSWER_THRICE}, Step.CALL),
        ({"phone": "", "email": EMAIL}, Step.WRITE),
        ({"phone": ""}, Step.FIND),
    ],
)
def test_nobody_of_a_recall_is_excused(fields, expected):
    assert step(case(Kind.RECALL, "recall", **fields)) is expected


@pytest.mark.parametrize("clinical", [True, False])
def test_what_came_back_is_settled_whatever_is_known_of_the_patient(clinical):
    for fields in ({}, {"phone": ""}, {"prefers": Way.EMAIL, "email": EMAIL, "may_send": True}):
        for source in ("message", "answer"):
            assert step(case(Kind.RETURNED, source, **fields), clinical=clinical) is Step.SETTLE


def test_who_does_not_read_clinical_detail_asks_the_injector():
    event, review = case(Kind.COMPLICATION, "event"), case(Kind.COMPLICATION, "review")
    assert [step(one, clinical=False) for one in (event, review)] == [Step.ASK, Step.ASK]
    assert [step(one) for one in (event, review)] == [Step.OPEN, Step.CALL]


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({"state": ReviewState.OVERDUE}, Standing.OVERDUE),
        ({"state": ReviewState.PLANNED}, Standing.SOON),
        ({"tries": NO_ANSWER_THRICE}, Standing.UNREACHABLE),
        ({"phone": ""}, Standing.DUE),
        ({"tries": NO_ANSWER_THRICE, "visit": Visit.SEEN}, Standing.DUE),
        ({"visit": Visit.TO_COME, "state": ReviewState.OVERDUE}, Standing.BOOKED),
        ({"kind": Kind.RECALL, "tries": NO_ANSWER_THRICE}, Standing.FIRST),
    ],
)
def test_where_a_case_stands(fields, expected):
    assert standing_of(case(**fields), limit=LIMIT) is expected


def test_a_worry_comes_before_everything_and_is_opened():
    worry = case(Kind.WORRY, "worry", weight=1)
    gravest = case(Kind.COMPLICATION, "event", weight=5)
    assert urgency(worry, limit=LIMIT, now=NOW) < urgency(gravest, limit=LIMIT, now=NOW)
    emergency = case(Kind.WORRY, "worry", pk=2, weight=3)
    assert urgency(emergency, limit=LIMIT, now=NOW) < urgency(worry, limit=LIMIT, now=NOW)
    assert (step(worry), step(worry, clinical=False)) == (Step.OPEN, Step.ASK)
    assert standing_of(worry, limit=LIMIT) is Standing.FIRST


def test_complications_then_recalls_then_reviews_by_urgency():
    later = tried("later", again_at=NOW + timedelta(hours=3))
    in_order = [
        case(Kind.COMPLICATION, "event", 9, weight=3),
        case(Kind.COMPLICATION, "review", 8, weight=1, state=ReviewState.OVERDUE),
        case(Kind.RECALL, "recall", 7, weight=3),
        case(Kind.RECALL, "recall", 6, weight=1),
        case(Kind.RETURNED, "message", 5),
        case(pk=4, state=ReviewState.OVERDUE, deadline_on=date(2026, 12, 1)),
        case(Kind.TOP_UP, pk=3, state=ReviewState.OVERDUE, deadline_on=date(2026, 12, 8)),
        case(pk=2),
        case(pk=10, tries=NO_ANSWER_THRICE),
        case(pk=11, state=ReviewState.PLANNED),
        case(pk=12, state=ReviewState.OVERDUE, tries=later),
        case(pk=13, visit=Visit.TO_COME, state=ReviewState.OVERDUE),
    ]
    by_number = sorted(in_order, key=lambda one: one.pk)
    sorted_again = sorted(by_number, key=lambda one: urgency(one, limit=LIMIT, now=NOW))
    assert [one.pk for one in sorted_again] == [one.pk for one in in_order]


def test_who_asked_to_be_called_later_is_back_in_place_when_the_time_has_come():
    tries = tried("later", again_at=NOW)
    assert not tries.is_postponed(NOW)
    assert tries.is_postponed(NOW - timedelta(minutes=1))


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({}, Way.PHONE),
        ({"prefers": Way.EMAIL, "may_send": True, **ALL_WAYS}, Way.EMAIL),
        ({"prefers": Way.LETTER, **ALL_WAYS}, Way.LETTER),
        ({"tries": NO_ANSWER_THRICE, **ALL_WAYS}, Way.LETTER),
        ({"phone": "", "email": EMAIL}, Way.EMAIL),
    ],
)
def test_the_step_names_its_way(fields, expected):
    one = case(**fields)
    assert way_of(one, step(one)) is expected


TRIES = st.lists(
    st.builds(
        Try,
        st.sampled_from(Way),
        st.sampled_from(TryOutcome),
        st.just(NOW),
        st.none() | st.sampled_from([NOW - timedelta(hours=1), NOW + timedelta(hours=1)]),
        st.sampled_from(["", PHONE, EMAIL, ADDRESS]),
    ),
    max_size=6,
).map(folded)
CASES = st.builds(
    Case,
    st.sampled_from(Kind),
    st.sampled_from(["review", "event", "recall", "message"]),
    st.integers(1, 5),
    st.sampled_from(ReviewState),
    st.dates(date(2026, 11, 1), date(2027, 1, 31)),
    st.integers(0, 5),
    st.sampled_from(Visit),
    st.sampled_from(Way),
    st.sampled_from(["", PHONE]),
    st.sampled_from(["", EMAIL]),
    st.sampled_from(["", ADDRESS]),
    TRIES,
    st.booleans(),
    st.booleans(),
)


@given(CASES, st.integers(1, 4), st.booleans())
def test_there_is_always_one_step_and_it_can_be_done(one, limit, clinical):
    found = next_step(one, limit=limit, clinical=clinical)
    assert found is next_step(one, limit=limit, clinical=clinical)
    if found in {Step.CALL, Step.SEND, Step.WRITE}:
        assert one.detail(way_of(one, found)), "there is a number or address to turn to"
    assert not (found is Step.EXCUSE and one.kind is Kind.RECALL)
    assert (found is Step.VISIT) == (one.visit in {Visit.TO_COME, Visit.UNSAID})


@given(st.lists(CASES, unique_by=lambda one: (one.source, one.pk), max_size=8), st.randoms())
def test_the_order_is_total_and_does_not_depend_on_where_it_started(cases, random):
    def ordered(some):
        return sorted(some, key=lambda one: urgency(one, limit=LIMIT, now=NOW))

    keys = {urgency(one, limit=LIMIT, now=NOW) for one in cases}
    assert len(keys) == len(cases)
    shuffled = list(cases)
    random.shuffle(shuffled)
    assert ordered(shuffled) == ordered(cases)
    waiting = [one for one in ordered(cases) if standing_of(one, limit=LIMIT) != Standing.BOOKED]
    first = [one.kind.comes_first for one in waiting]
    assert first == sorted(first, reverse=True), "complications and recalls come first"


@given(TRIES, st.sampled_from(TryOutcome))
def test_one_more_try_counts_or_starts_anew(tries, outcome):
    rest = folded([*([tries.last] if tries.last else []), Try(Way.PHONE, outcome, NOW)])
    assert rest.fruitless == 0 or outcome not in {TryOutcome.REACHED, TryOutcome.LATER}
    assert rest.is_reached == (outcome is TryOutcome.REACHED)

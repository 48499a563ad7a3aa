"""
Which looks at records are asked about. No standard says where to draw the lines, so each number is
worked out by hand here; that hours do not depend on how often one looks is tried over many cases.
"""

from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.unusual_access import (
    HOUR,
    Access,
    Known,
    PatientFacts,
    PersonFacts,
    Question,
    WorkDay,
    many_in_an_hour,
    outside_hours,
    relations,
    without_reason,
)

DAY = date(2026, 12, 1)
NOON = datetime.combine(DAY, time(12), UTC)
LATE = NOON + timedelta(hours=6)


def at(clock: str, patient: int = 1, person: int = 7, position: int = 0) -> Access:
    moment = datetime.combine(DAY, time.fromisoformat(clock), UTC)
    return Access(position or int(clock.replace(":", "")), moment, person, patient)


def records(count: int, minutes: float = 1.0, person: int = 7, first: int = 1) -> list[Access]:
    """So many different records, one after the other from noon on."""
    return [
        Access(first + number, NOON + timedelta(minutes=minutes * number), person, number)
        for number in range(count)
    ]


# Many in an hour


def test_as_many_as_the_policy_lets_pass_are_no_question():
    assert many_in_an_hour(records(30), 30, until=LATE) == []


def test_one_more_is_a_question_with_its_evidence():
    (found,) = many_in_an_hour(records(31), 30, until=LATE)
    assert (found.question, found.person, found.patient) == (Question.MANY, 7, None)
    assert (found.count, found.first, found.last) == (31, 1, 31)
    assert found.key == "many:7:1"
    assert "31 different records within an hour" in found.reason


def test_one_record_opened_often_is_one():
    often = [Access(n, NOON + timedelta(seconds=n), 7, 1) for n in range(1, 200)]
    assert many_in_an_hour(often, 30, until=LATE) == []


def test_two_people_are_not_added_up():
    both = [*records(20), *records(20, person=8, first=100)]
    assert many_in_an_hour(both, 30, until=LATE) == []


def test_an_hour_need_not_begin_with_the_clocks():
    across = [
        Access(n, NOON - timedelta(minutes=20) + timedelta(minutes=n), 7, n) for n in range(1, 41)
    ]
    assert [found.count for found in many_in_an_hour(across, 30, until=LATE)] == [40]


def test_the_sixtieth_minute_belongs_to_the_next_hour():
    two = [Access(1, NOON, 7, 1), Access(2, NOON + HOUR, 7, 2)]
    assert many_in_an_hour(two, 1, until=LATE) == []
    two[1] = Access(2, NOON + HOUR - timedelta(microseconds=1), 7, 2)
    assert len(many_in_an_hour(two, 1, until=LATE)) == 1


def test_an_hour_that_is_not_over_waits_for_the_next_look():
    assert many_in_an_hour(records(40), 30, until=NOON + timedelta(minutes=59)) == []
    assert len(many_in_an_hour(records(40), 30, until=NOON + HOUR)) == 1


def test_what_was_asked_about_is_not_counted_again():
    (found,) = many_in_an_hour(records(40), 30, until=LATE)
    assert many_in_an_hour(records(40), 30, until=LATE, asked_up_to={7: found.last}) == []
    assert len(many_in_an_hour(records(80), 30, until=LATE, asked_up_to={7: 41})) == 1


@given(
    st.lists(st.tuples(st.integers(0, 400), st.integers(1, 6)), max_size=60),
    st.integers(1, 4),
    st.lists(st.integers(0, 420), max_size=5),
)
def test_looking_often_finds_what_looking_once_finds(made, most, looks):
    made.sort()
    accesses = [
        Access(position, NOON + timedelta(minutes=minute), 7, patient)
        for position, (minute, patient) in enumerate(made, start=1)
    ]
    end = NOON + timedelta(minutes=480)
    once = {found.key for found in many_in_an_hour(accesses, most, until=end)}
    often, upto, start = [], {}, NOON
    for minute in [*sorted(looks), 480]:
        until = NOON + timedelta(minutes=minute)
        seen = [one for one in accesses if start - HOUR <= one.at < until]
        for found in many_in_an_hour(seen, most, until=until, asked_up_to=upto):
            often.append(found.key)
            upto[7] = max(upto.get(7, 0), found.last)
        start = until
    assert len(often) == len(set(often))
    assert set(often) == once


# Outside of hours

WORK = WorkDay(NOON - timedelta(hours=3), NOON + timedelta(hours=5))  # 9 to 17


@pytest.mark.parametrize(
    ("clock", "asked"),
    [
        ("07:59", "07:59; work began at 09:00."),
        ("08:00", ""),  # exactly an hour before
        ("13:00", ""),
        ("18:00", ""),
        ("18:01", "18:01; work ended at 17:00."),
    ],
)
def test_an_hour_before_and_after_work_is_still_work(clock, asked):
    found = outside_hours([at(clock)], {7: WORK}, HOUR)
    assert [one.reason.removeprefix("Opened at ") for one in found] == ([asked] if asked else [])


def test_before_and_after_are_two_questions_and_each_is_one():
    early_and_late = [at("05:00"), at("05:30", 2), at("22:00", 3), at("22:30", 3)]
    found = outside_hours(early_and_late, {7: WORK}, HOUR)
    assert [one.key for one in found] == ["hours:7:2026-12-01:before", "hours:7:2026-12-01:after"]
    assert [(one.count, one.entries) for one in found] == [(2, 2), (1, 2)]
    assert found[1].reason == "Opened between 22:00 and 22:30; work ended at 17:00."


def test_a_day_off_is_asked_about_and_an_unknown_one_is_not():
    (found,) = outside_hours([at("13:00")], {7: None}, HOUR)
    assert found.key == "hours:7:2026-12-01:off"
    assert "was not at work" in found.reason
    assert outside_hours([at("03:00")], {}, HOUR) == []


# Relations

PEOPLE = {7: PersonFacts("Mia Larsen", "Elm Street 4, 12345 Exampleton"), 8: PersonFacts("Bo Holm")}


def related(facts: PatientFacts, *, person: int = 7, involved=frozenset()) -> list[Question]:
    known = Known(PEOPLE, {1: facts}, involved)
    return [found.question for found in relations([at("13:00", person=person)], known)]


def test_ones_own_record_is_asked_about_whoever_treats_it():
    own = PatientFacts("Mia Larsen", staff=7)
    assert related(own) == [Question.OWN]
    assert related(own, involved={(7, 1)}) == [Question.OWN]


def test_a_colleagues_record_is_asked_about_unless_one_treats_it():
    colleague = PatientFacts("Mia Larsen", staff=7)
    assert related(colleague, person=8) == [Question.COLLEAGUE]
    assert related(colleague, person=8, involved={(8, 1)}) == []


def test_a_namesake_of_whom_nobody_said_may_be_the_same():
    namesake = PatientFacts("Mia Larsen", namesakes=frozenset({7}))
    assert related(namesake) == [Question.OWN]
    assert related(namesake, person=8) == [Question.COLLEAGUE]


@pytest.mark.parametrize(
    ("facts", "asked"),
    [
        (PatientFacts("Ove LARSEN"), [Question.FAMILY]),
        (PatientFacts("Ove Lársen"), [Question.FAMILY]),  # as names are searched
        (PatientFacts("Larsen Ove"), []),
        (PatientFacts("Ove Carlsen"), []),
        (PatientFacts("Eva Berg", "elm street 4\n12345 Exampleton"), [Question.FAMILY]),
        (PatientFacts("Eva Berg", "Elm Street 5, 12345 Exampleton"), []),
        (PatientFacts("Eva Berg", ""), []),
    ],
)
def test_family_is_known_by_name_or_address(facts, asked):
    assert related(facts) == asked
    assert related(facts, involved={(7, 1)}) == []


def test_who_has_one_name_alone_or_no_address_has_no_family_here():
    known = Known({7: PersonFacts("Cher")}, {1: PatientFacts("Cher", "")})
    assert relations([at("13:00")], known) == []


def test_a_day_is_one_question_for_each_person_and_record():
    known = Known(PEOPLE, {1: PatientFacts("Mia Larsen", staff=7)})
    twice = [at("09:00"), at("13:00"), at("13:00", person=8)]
    found = relations(twice, known)
    assert sorted(one.key for one in found) == ["colleague:8:1:2026-12-01", "own:7:1:2026-12-01"]
    assert {one.entries for one in found} == {1, 2}


# Without a reason


def test_a_record_without_a_reason_is_asked_about_once_a_day_and_person():
    looks = [at("09:00", 1), at("09:05", 1), at("10:00", 2), at("11:00", 1, person=8)]
    found = without_reason(looks, {2}, 14)
    assert [one.key for one in found] == ["no_reason:7:1:2026-12-01", "no_reason:8:1:2026-12-01"]
    assert found[0].reason == (
        "No visit, session, review or task of this patient within 14 days of that day. "
        "Opened between 09:00 and 09:05."
    )


def test_nobody_is_asked_two_things_about_one_look():
    assert without_reason([at("09:00", 1)], (), 14, asked={(7, 1)}) == []

"""
The effectiveness check: a sample that anybody can draw again, and what came of it.

Sizes of the levels: arithmetic on US 21 CFR 7.42(b)(3), whose shares were read second-hand.
"""

import json
from hashlib import sha256

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.audit.models import AuditEvent
from planning.recall_checks import Figure, Level
from records.patients.models import Patient
from records.recalls.enums import CheckResult
from records.recalls.errors import CaseClosed, OnlyADrill, RecallError
from records.recalls.models import CaseCheck, RecallCase
from records.recalls.queries.checks import check_standing, checks_of, next_check, seed_of
from records.recalls.services.checks import draw_checks, record_check
from tests.factories import make_patient, refreshed
from tests.records.recalls.cases import make_case, span

EFFECTIVE, NOT_REACHED = CheckResult.EFFECTIVE, CheckResult.NOT_REACHED


@pytest.fixture
def large(owner, product):
    """`large(37, level="C")`: a case with so many people on its list."""

    def make(people: int, **fields) -> RecallCase:
        case = make_case(owner, span(product, "NEVER"), **fields)
        add(case, people)
        return case

    return make


def add(case: RecallCase, people: int) -> None:
    born = timezone.localdate().replace(year=1980)
    start = Patient.objects.count()
    Patient.objects.bulk_create(
        Patient(record_number=f"X{start + n:05d}", full_name=f"Number {n}", birth_date=born)
        for n in range(people)
    )
    added = Patient.objects.order_by("pk")[start:]
    case.people.bulk_create(
        case.people.model(case=case, patient=patient, added_at=timezone.now()) for patient in added
    )


def sample(case) -> list[str]:
    return [check.person.patient.record_number for check in checks_of(case)]


def ranked(case) -> list[str]:
    """By hand: smallest SHA-256 of number and reference, U+001F and record number first."""
    numbers = case.people.values_list("patient__record_number", flat=True)
    return sorted(numbers, key=lambda n: sha256(f"{case.number} FSN-14\x1f{n}".encode()).digest())


@pytest.mark.parametrize(
    ("people", "level", "percent", "size"),
    [
        (37, "A", None, 37), (37, "C", None, 4), (37, "D", None, 1), (37, "B", 50, 19),
        (240, "D", None, 5), (1, "C", None, 1), (1, "D", None, 1),
    ],
)  # fmt: skip
def test_the_sample_is_as_large_as_the_level_says(large, owner, people, level, percent, size):
    case = large(people, level=level, level_percent=percent)
    assert draw_checks(case=case, actor=owner) == (size, 0)
    standing = check_standing(case)
    assert (standing.wanted, standing.drawn, standing.may_grow) == (size, size, False)


def test_anybody_can_draw_the_same_people_again(large, owner):
    case = large(37, level="C")
    draw_checks(case=case, actor=owner)
    assert sample(case) == ranked(case)[:4]
    assert seed_of(case) == f"{case.number} FSN-14"
    assert refreshed(case).sampled_at is not None
    event = AuditEvent.objects.get(action="recall.sample_drawn")
    assert json.loads(event.data)["after"] == {"sample": sample(case)}


def test_drawing_again_gives_the_same_and_is_refused(large, owner):
    case = large(37, level="C")
    draw_checks(case=case, actor=owner)
    with pytest.raises(RecallError, match="the same people would come out again"):
        draw_checks(case=case, actor=owner)


def test_before_anybody_was_asked_it_is_drawn_anew_when_more_are_found(large, owner):
    case = large(37, level="C")
    draw_checks(case=case, actor=owner)
    add(case, 30)
    assert check_standing(case).may_grow
    assert draw_checks(case=case, actor=owner) == (7, 0)
    assert sample(case) == ranked(case)[:7]


def test_once_somebody_was_asked_it_only_grows_by_those_next_in_the_ranking(large, owner):
    case = large(37, level="C")
    draw_checks(case=case, actor=owner)
    before = sample(case)
    record_check(check=checks_of(case)[2], result=EFFECTIVE, note="", actor=owner)
    with pytest.raises(RecallError, match="It grows when more patients are found"):
        draw_checks(case=case, actor=owner)
    add(case, 30)
    assert draw_checks(case=case, actor=owner) == (3, 4)
    added = [number for number in ranked(case) if number not in before][:3]
    assert sample(case) == before + added
    assert [check.position for check in checks_of(case)] == list(range(1, 8))


def test_level_e_asks_for_nothing_and_says_so(large, owner):
    case = large(37, level="E")
    with pytest.raises(RecallError, match="Level E asks for no check"):
        draw_checks(case=case, actor=owner)
    standing = check_standing(case)
    assert (standing.is_asked_for, standing.wanted) == (False, 0)
    assert str(standing.figure) == "No check is asked for by this level."


def test_nobody_on_the_list_is_nobody_to_draw(large, owner):
    with pytest.raises(RecallError, match="nobody to draw"):
        draw_checks(case=large(0), actor=owner)


def test_in_a_drill_nobody_is_drawn_or_asked(drill, owner):
    with pytest.raises(OnlyADrill, match="nobody is asked"):
        draw_checks(case=drill, actor=owner)
    check = CaseCheck.objects.create(person=drill.people.first(), position=1)
    with pytest.raises(OnlyADrill):
        record_check(check=check, result=EFFECTIVE, note="", actor=owner)
    assert check_standing(drill).wanted == 0


# --- results ---


@pytest.fixture
def drawn(case, owner):
    """Ann's and Bo's case, level A, both drawn."""
    draw_checks(case=case, actor=owner)
    return case


def test_a_result_is_written_down_with_who_and_when(drawn, owner):
    check = checks_of(drawn).first()
    record_check(check=check, result=EFFECTIVE, note=" Will come on Monday ", actor=owner)
    stored = refreshed(check)
    assert (stored.result, stored.note, stored.by) == ("effective", "Will come on Monday", owner)
    event = AuditEvent.objects.get(action="recall.check_noted")
    assert event.patient_id == check.person.patient_id
    assert json.loads(event.data) == {
        "after": {"result": "effective", "note": "Will come on Monday"}
    }


def test_the_figure_counts_results_against_the_target(drawn, owner):
    one, two = checks_of(drawn)
    assert check_standing(drawn).figure == Figure(checked=0, effective=0, target=2)
    record_check(check=one, result=EFFECTIVE, note="", actor=owner)
    assert check_standing(drawn).figure == Figure(checked=1, effective=1, target=2)
    record_check(check=two, result=NOT_REACHED, note="", actor=owner)
    standing = check_standing(drawn)
    assert standing.figure == Figure(checked=2, effective=1, target=2)
    assert (standing.not_effective, standing.not_reached) == (0, 1)
    assert str(standing.figure) == "2 of 2 checked; effective for 1 of 2 (50 %)."
    assert (standing.level, standing.share) == (Level.A, "100 % of 2 people")


def test_a_result_can_be_put_right_and_the_trail_keeps_the_old_one(drawn, owner):
    check = checks_of(drawn).first()
    record_check(check=check, result=NOT_REACHED, note="", actor=owner)
    record_check(check=check, result=EFFECTIVE, note="Rang back", actor=owner)
    event = AuditEvent.objects.filter(action="recall.check_noted").latest("id")
    assert json.loads(event.data)["before"] == {"result": "not_reached", "note": ""}


def test_whom_to_ask_next(drawn, owner):
    one, two = checks_of(drawn)
    assert next_check(one) == two
    assert next_check(two) == one
    record_check(check=one, result=EFFECTIVE, note="", actor=owner)
    assert next_check(two) is None


def test_a_closed_case_takes_no_result(drawn, owner):
    RecallCase.objects.filter(pk=drawn.pk).update(
        closed_at=timezone.now(), closed_by=owner, closed_digest="x"
    )
    with pytest.raises(CaseClosed):
        record_check(check=checks_of(drawn).first(), result=EFFECTIVE, note="", actor=owner)
    with pytest.raises(CaseClosed):
        draw_checks(case=drawn, actor=owner)


def test_the_source_is_shown_with_how_sure_it_is(drawn):
    assert str(check_standing(drawn).source) == (
        "US 21 CFR 7.42(b)(3): effectiveness checks: A 100 %, B more than 10 % and less than "
        "100 %, C 10 %, D 2 %, E none (read second-hand, not in the document itself)"
    )


# --- round the services ---


def test_the_database_refuses_a_result_that_is_none_or_nobody_s(drawn, owner):
    asked = {"at": timezone.now(), "by": owner}
    for fields, constraint in [
        ({"result": "perhaps", **asked}, "recall_check_result_is_known"),
        ({"result": "effective"}, "recall_check_by_somebody"),
        (asked, "recall_check_by_somebody"),
    ]:
        with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
            CaseCheck.objects.update(**fields)


def test_a_patient_is_in_the_sample_once(drawn):
    person = checks_of(drawn).first().person
    with pytest.raises(IntegrityError, match=r"(?i)unique"), transaction.atomic():
        CaseCheck.objects.create(person=person, position=9)


def test_other_cases_are_left_alone(drawn, large, owner, desk):
    other = large(3)
    make_patient(desk, "Nobody")
    draw_checks(case=other, actor=owner)
    assert (len(sample(drawn)), len(sample(other))) == (2, 3)

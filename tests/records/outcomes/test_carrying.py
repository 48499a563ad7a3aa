"""A top-up: the points of last time in the patient's plan."""

import pytest

from clinic.audit.models import AuditEvent
from planning.outcomes import TopUp
from planning.vocabulary import ProductKind
from records.outcomes.errors import CarriedAlready, OutcomeError
from records.outcomes.queries.reviews import repeatable_lines
from records.outcomes.services.carrying import carry_over
from records.plans.forms import PLANNED_KINDS
from records.sessions.services.sittings import start_session
from tests.factories import (
    make_plan,
    make_point,
    make_product,
    make_review_record,
    make_session_with_unit,
    make_units,
)


@pytest.fixture
def record(injector, review):
    return make_review_record(injector, review, top_up=TopUp.TOP_UP)


def lines_of(record):
    return repeatable_lines(record.review.session, PLANNED_KINDS)


def in_short(lines) -> list[tuple]:
    return [(line.region, line.side, line.amount, line.gauge) for line in lines]


LAST_TIME = [("temple", "left", 400, 27), ("mental", "midline", 400, 27)]


def test_points_of_one_place_and_way_are_one_line(record):
    assert in_short(lines_of(record)) == LAST_TIME


def test_what_no_plan_holds_is_not_repeated(injector, owner, patient):
    gel = make_product("Numbing gel", kind=ProductKind.ANAESTHETIC)
    [unit] = make_units(owner, gel, quantity=1)
    session = make_session_with_unit(injector, patient, unit)
    make_point(session, unit, amount=100)
    assert repeatable_lines(session, PLANNED_KINDS) == []


def test_a_patient_without_a_plan_gets_one(injector, patient, record):
    carried = carry_over(record=record, lines=lines_of(record), actor=injector)
    plan = patient.plans.still_open().get()
    assert (carried.plan, plan.title.startswith("Top-up of ")) == (plan, True)
    assert in_short(plan.stages.get().lines.all()) == LAST_TIME
    told = AuditEvent.objects.get(action="review.top_up_planned")
    assert (told.patient_id, "Temporal region, left" in told.data) == (patient.pk, True)


def test_an_open_plan_gets_a_stage_more(injector, patient, record):
    plan = make_plan(injector, patient, make_product("Another filler"))
    carry_over(record=record, lines=lines_of(record)[:1], actor=injector)
    first, second = plan.stages.order_by("number")
    assert in_short(second.lines.all()) == LAST_TIME[:1]
    assert first.lines.count() == 2


def test_the_next_session_takes_the_top_up_up(injector, patient, record):
    plan = carry_over(record=record, lines=lines_of(record), actor=injector).plan
    session = start_session(patient=patient, injector=injector, jaw="average")
    assert plan.stages.get().session_id == session.pk


def test_it_is_carried_over_once(injector, record):
    carry_over(record=record, lines=lines_of(record), actor=injector)
    with pytest.raises(CarriedAlready, match="in a plan already"):
        carry_over(record=record, lines=lines_of(record), actor=injector)


def test_nothing_chosen_and_no_top_up_carry_nothing_over(injector, review, record):
    with pytest.raises(OutcomeError, match="at least one line"):
        carry_over(record=record, lines=[], actor=injector)
    waits = make_review_record(injector, review, top_up=TopUp.WAIT, why_again="Better to wait")
    with pytest.raises(OutcomeError, match="no top-up"):
        carry_over(record=waits, lines=lines_of(waits), actor=injector)

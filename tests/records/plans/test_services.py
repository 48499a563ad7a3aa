"""Plans: who writes what, and what stays."""

import pytest

from clinic.audit.models import AuditEvent
from records.plans.enums import PlanEnd
from records.plans.errors import PlanClosed, PlanError, StageTreated
from records.plans.models import MOST_LINES, MOST_STAGES, Plan, PlanLine, PlanTemplate
from records.plans.services.lines import remove_line, save_line
from records.plans.services.plans import (
    add_stage,
    change_plan,
    change_stage,
    end_plan,
    remove_stage,
    start_plan,
)
from records.plans.services.templates import (
    apply_template,
    change_template,
    remove_template_line,
    save_as_template,
)
from records.sessions.services.signing import sign_session
from records.sessions.services.sittings import set_aside_session
from tests.factories import (
    make_line,
    make_patient,
    make_plan,
    make_product,
    make_session,
    refreshed,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def product():
    return make_product()


@pytest.fixture
def plan(injector, patient, product) -> Plan:
    return make_plan(injector, patient, product)


@pytest.fixture
def stage(plan):
    return plan.stages.get()


def test_a_plan_begins_with_one_stage_and_is_in_the_trail(plan, stage, patient):
    assert (stage.number, stage.lines.count()) == (1, 2)
    actions = AuditEvent.objects.filter(patient_id=patient.pk).values_list("action", flat=True)
    assert {"plan.started", "plan.stage_added", "plan.lines_added"} <= set(actions)


def test_a_patient_has_one_open_plan(injector, patient, plan):
    with pytest.raises(PlanError, match="still open"):
        start_plan(patient=patient, title="Lips", actor=injector)
    end_plan(plan=plan, end=PlanEnd.CARRIED_OUT, reason="", actor=injector)
    assert start_plan(patient=patient, title="Lips", actor=injector).is_open


def test_given_up_needs_a_reason_and_what_ended_is_not_changed(injector, plan, stage, product):
    with pytest.raises(PlanError, match="Say why"):
        end_plan(plan=plan, end=PlanEnd.GIVEN_UP, reason=" ", actor=injector)
    end_plan(plan=plan, end=PlanEnd.GIVEN_UP, reason="Moved away", actor=injector)
    for act in (
        lambda: end_plan(plan=plan, end=PlanEnd.CARRIED_OUT, reason="", actor=injector),
        lambda: change_plan(plan=plan, actor=injector),
        lambda: add_stage(plan=plan, actor=injector),
        lambda: save_line(line=PlanLine(stage=stage, **values(product)), actor=injector),
    ):
        with pytest.raises(PlanClosed):
            act()


def values(product) -> dict:
    line = make_line(product, region="temple", side="right", amount=500)
    names = ("region", "side", "product", "plane", "technique", "instrument", "amount")
    return {name: getattr(line, name) for name in names}


def test_a_line_can_be_written_for_both_sides(injector, stage, product):
    save_line(line=PlanLine(stage=stage, **values(product)), also_other_side=True, actor=injector)
    assert sorted(stage.lines.filter(region="temple").values_list("side", flat=True)) == [
        "left",
        "right",
    ]


def test_a_stage_holds_so_many_lines(injector, stage, product):
    rest = [PlanLine(stage=stage, **values(product)) for _ in range(MOST_LINES - 2)]
    PlanLine.objects.bulk_create(rest)
    with pytest.raises(PlanError, match="at most"):
        save_line(line=PlanLine(stage=stage, **values(product)), actor=injector)


def test_only_the_last_of_several_stages_is_taken_away(injector, plan, stage):
    with pytest.raises(PlanError, match="Only the last"):
        remove_stage(stage=stage, actor=injector)
    second, third = (add_stage(plan=plan, weeks_after=2, actor=injector) for _ in range(2))
    with pytest.raises(PlanError, match="Only the last"):
        remove_stage(stage=second, actor=injector)
    remove_stage(stage=third, actor=injector)
    second.weeks_after = 6
    change_stage(stage=second, actor=injector)
    assert [row.weeks_after for row in plan.stages.all()] == [0, 6]


def test_a_plan_has_so_many_stages(injector, plan):
    for _ in range(MOST_STAGES - 1):
        add_stage(plan=plan, actor=injector)
    with pytest.raises(PlanError, match="at most"):
        add_stage(plan=plan, actor=injector)


def test_a_session_takes_up_the_next_stage_and_one_set_aside_gives_it_back(
    injector, patient, plan, stage
):
    session = make_session(injector, patient)
    assert refreshed(stage).session_id == session.pk
    set_aside_session(session=session, actor=injector)
    assert refreshed(stage).session_id is None
    again = make_session(injector, patient)
    assert refreshed(stage).session_id == again.pk


def test_an_empty_stage_is_not_taken_up(injector, patient):
    plan = start_plan(patient=patient, title="Lips", actor=injector)
    make_session(injector, patient)
    assert plan.stages.get().session_id is None


def test_a_plan_written_during_the_session_is_taken_up_by_it(injector, patient, product):
    session = make_session(injector, patient)
    stage = make_plan(injector, patient, product).stages.get()
    assert stage.session_id == session.pk


def test_a_line_written_during_the_session_is_taken_up_by_it(injector, patient, product):
    session = make_session(injector, patient)
    stage = start_plan(patient=patient, title="Temples", actor=injector).stages.get()
    save_line(line=PlanLine(stage=stage, **values(product)), actor=injector)
    assert refreshed(stage).session_id == session.pk


def test_what_was_planned_for_a_signed_session_stays(injector, patient, plan, stage, product):
    session = make_session(injector, patient)
    sign_session(session=session, remainders={}, actor=injector)
    line = stage.lines.first()
    for act in (
        lambda: save_line(line=line, actor=injector),
        lambda: remove_line(line=line, actor=injector),
        lambda: save_line(line=PlanLine(stage=stage, **values(product)), actor=injector),
        lambda: remove_stage(stage=stage, actor=injector),
    ):
        with pytest.raises(StageTreated):
            act()


def test_a_template_carries_lines_and_nothing_of_the_patient(injector, patient, product):
    """Two stages, a note that is left behind, and stages that the other plan lacks."""
    line = make_line(product, note="Mrs Example asks for little here")
    plan = make_plan(injector, patient, product, line)
    second = add_stage(plan=plan, weeks_after=4, actor=injector)
    save_line(line=PlanLine(stage=second, **values(product)), actor=injector)
    template = save_as_template(plan=plan, name="Cheekbones", actor=injector)
    other = start_plan(patient=make_patient(injector, "Bo"), title="Same", actor=injector)
    count = apply_template(plan=other, template=template, stage=other.stages.get(), actor=injector)
    assert count == 2
    stages = list(other.stages.all())
    assert [(row.number, row.weeks_after) for row in stages] == [(1, 0), (2, 4)]
    assert [(row.lines.get().region, row.lines.get().note) for row in stages] == [
        ("zygomatic", ""),
        ("temple", ""),
    ]


def test_a_template_needs_lines_and_keeps_one(injector, patient, plan):
    empty = start_plan(patient=make_patient(injector, "Bo"), title="Same", actor=injector)
    with pytest.raises(PlanError, match="nothing to keep"):
        save_as_template(plan=empty, name="Nothing", actor=injector)
    template = save_as_template(plan=plan, name="Cheeks", actor=injector)
    first, last = template.lines.all()
    remove_template_line(line=first, actor=injector)
    with pytest.raises(PlanError, match="at least one"):
        remove_template_line(line=last, actor=injector)
    template.is_active = False
    change_template(template=template, actor=injector)
    assert not PlanTemplate.objects.filter(is_active=True).exists()

"""Plans: who writes what, and what stays."""

from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from records.plans.enums import PlanEnd
from records.plans.errors import PlanClosed, PlanError, StageTreated
from records.plans.models import MOST_LINES, MOST_STAGES, Plan, PlanLine, PlanStage, PlanTemplate
from records.plans.services.lines import remove_line, save_line
from records.plans.services.plans import (
    add_stage,
    change_plan,
    change_stage,
    end_plan,
    give_back_stage,
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
from records.sessions.services.tray import put_on_tray
from tests.factories import (
    make_line,
    make_patient,
    make_plan,
    make_point,
    make_product,
    make_session,
    make_units,
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


@pytest.fixture
def browse(signed_in, injector):
    return signed_in(injector)


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


def test_when_a_treated_stage_took_place_is_not_changed(injector, patient, plan, stage, browse):
    sign_session(session=make_session(injector, patient), remainders={}, actor=injector)
    stage.weeks_after = 6
    with pytest.raises(StageTreated):
        change_stage(stage=stage, actor=injector)
    answer = browse.post(reverse("plan-stage-edit", args=[stage.pk]), {"weeks_after": "6"})
    assert answer.status_code == 422
    assert "is signed" in answer.content.decode()


def test_a_plan_is_not_taken_up_by_a_session_of_an_earlier_day(injector, patient, product):
    """Yesterday's session still waits for its signature: what is planned today is for the next."""
    with time_machine.travel(timezone.now() - timedelta(days=1)):
        yesterday = make_session(injector, patient)
    stage = make_plan(injector, patient, product).stages.get()
    assert stage.session_id is None
    sign_session(session=yesterday, remainders={}, actor=injector)
    today = make_session(injector, patient)
    assert refreshed(stage).session_id == today.pk


def test_a_treatment_written_down_late_takes_up_no_plan_of_a_later_day(injector, patient, plan):
    make_session(
        injector, patient, started_at=timezone.now() - timedelta(days=2), late_reason="Away"
    )
    assert plan.stages.get().session_id is None


def test_who_changes_what_somebody_took_out_is_told(injector, plan, stage):
    line = stage.lines.first()
    remove_line(line=PlanLine.objects.get(pk=line.pk), actor=injector)
    for act in (
        lambda: save_line(line=line, actor=injector),
        lambda: remove_line(line=line, actor=injector),
    ):
        with pytest.raises(PlanError, match="This line was taken out just now"):
            act()
    second = add_stage(plan=plan, actor=injector)
    remove_stage(stage=PlanStage.objects.get(pk=second.pk), actor=injector)
    with pytest.raises(PlanError, match="This stage was taken out just now"):
        change_stage(stage=second, actor=injector)


def test_units_planned_follow_the_lines_until_the_session_is_signed(
    injector, owner, patient, product
):
    """The first 0.5 mL take one syringe of 1 mL; with both sides it is still one, with 1.2 two."""
    unit = make_units(owner, product, quantity=3)[0]
    session = make_session(injector, patient)
    stage = start_plan(patient=patient, title="Temples", actor=injector).stages.get()
    save_line(line=PlanLine(stage=stage, **values(product)), also_other_side=True, actor=injector)
    assert refreshed(stage).units_planned == {str(product.pk): 1}
    # What the session itself opened and drew is what was planned, not something that lay there.
    put_on_tray(session=session, unit=unit, actor=injector)
    make_point(session, unit, amount=500)
    chin = make_line(product, region="mental", side="midline", amount=200)
    chin.stage = stage
    save_line(line=chin, actor=injector)
    assert refreshed(stage).units_planned == {str(product.pk): 2}
    assert AuditEvent.objects.filter(action="plan.units_counted").exists()
    remove_line(line=chin, actor=injector)
    assert refreshed(stage).units_planned == {str(product.pk): 1}


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


def test_a_session_about_something_else_gives_the_stage_back_for_good(
    injector, patient, plan, stage, product
):
    """A check-up took the cheeks up; a further line does not bring them back into it."""
    with pytest.raises(PlanError, match="nothing to give back"):
        give_back_stage(stage=stage, actor=injector)
    session = make_session(injector, patient)
    give_back_stage(stage=stage, actor=injector)
    save_line(line=PlanLine(stage=stage, **values(product)), actor=injector)
    assert refreshed(stage).session_id is None
    sign_session(session=session, remainders={}, actor=injector)
    after = make_session(injector, patient)
    assert refreshed(stage).session_id == after.pk


def test_the_stage_of_a_signed_session_is_not_given_back(injector, patient, plan, stage):
    sign_session(session=make_session(injector, patient), remainders={}, actor=injector)
    with pytest.raises(StageTreated):
        give_back_stage(stage=stage, actor=injector)

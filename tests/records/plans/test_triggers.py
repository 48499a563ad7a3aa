"""What the database holds about plans, whatever path a row is written by."""

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from planning.money import MOST
from records.plans.models import Plan, PlanLine, PlanStage, PlanSummary
from records.sessions.services.signing import sign_session
from tests.factories import make_line, make_plan, make_product, make_session

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan(injector, patient) -> Plan:
    return make_plan(injector, patient, make_product())


@pytest.fixture
def treated(injector, patient, plan) -> PlanStage:
    sign_session(session=make_session(injector, patient), remainders={}, actor=injector)
    return plan.stages.get()


def refused(act) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        act()


def test_lines_of_a_treated_stage_stay(treated):
    line = treated.lines.first()
    refused(lambda: PlanLine.objects.filter(pk=line.pk).update(amount=1))
    refused(lambda: PlanLine.objects.filter(pk=line.pk).delete())
    new = make_line(line.product)
    new.stage = treated
    refused(new.save)
    other = PlanStage.objects.create(plan=treated.plan, number=2)
    new.stage = other
    new.save()
    refused(lambda: PlanLine.objects.filter(pk=new.pk).update(stage=treated))


def test_a_treated_stage_stays_with_its_session(treated):
    refused(lambda: PlanStage.objects.filter(pk=treated.pk).update(session=None))
    refused(lambda: PlanStage.objects.filter(pk=treated.pk).delete())


def test_no_signed_session_takes_a_stage_up(injector, patient, plan):
    make_session(injector, patient)
    stage = plan.stages.get()
    PlanStage.objects.filter(pk=stage.pk).update(session=None)
    signed = sign_session(session=make_session(injector, patient), remainders={}, actor=injector)
    refused(lambda: PlanStage.objects.filter(pk=stage.pk).update(session=signed))


def test_summaries_only_grow(injector, plan):
    made = PlanSummary.objects.create(
        plan=plan, number=1, pdf=b"%PDF", digest="0" * 64, currency="EUR",
        issued_at=timezone.now(), issued_by=injector,
    )  # fmt: skip
    refused(lambda: PlanSummary.objects.filter(pk=made.pk).update(total=1))
    # Of the dearest unit that can be typed, three are more than four bytes hold.
    dearest = 3 * MOST
    PlanSummary.objects.create(
        plan=plan, number=2, pdf=b"%PDF", digest="0" * 64, total=dearest, currency="EUR",
        issued_at=timezone.now(), issued_by=injector,
    )  # fmt: skip
    assert PlanSummary.objects.get(number=2).total == dearest
    refused(lambda: PlanSummary.objects.filter(pk=made.pk).delete())


@pytest.mark.parametrize(
    "wrong",
    [
        {"amount": 0},
        {"region": "zygomatic", "side": "midline"},
        {"region": "elbow"},
        {"side": "both"},
        {"plane": "somewhere"},
        {"technique": "pour"},
        {"instrument": "spoon"},
    ],
)
def test_a_line_that_cannot_be_is_refused(plan, wrong):
    line = plan.stages.get().lines.first()
    refused(lambda: PlanLine.objects.filter(pk=line.pk).update(**wrong))


def test_a_plan_that_cannot_be_is_refused(injector, patient, plan):
    open_plans = Plan.objects.filter(pk=plan.pk)
    refused(lambda: open_plans.update(closed_at=timezone.now()))
    given_up = {"closed_at": timezone.now(), "closed_by": injector, "end": "given_up"}
    refused(lambda: open_plans.update(**given_up))
    refused(
        lambda: Plan.objects.create(
            patient=patient, title="Second", made_at=timezone.now(), made_by=injector
        )
    )
    refused(lambda: PlanStage.objects.create(plan=plan, number=1))
    refused(lambda: PlanStage.objects.create(plan=plan, number=13))

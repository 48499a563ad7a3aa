"""A top-up: the points of last time as lines of the patient's plan."""

from collections.abc import Sequence

from django.utils import timezone

from clinic.audit.services import acting
from planning.outcomes import TopUp
from records.outcomes.errors import CarriedAlready, OutcomeError
from records.outcomes.models import CarryOver, ReviewRecord
from records.patients.models import Patient
from records.plans.models import PlanLine
from records.plans.services.lines import add_copies
from records.plans.services.plans import add_stage, start_plan


def carry_over(*, record: ReviewRecord, lines: Sequence[PlanLine], actor) -> CarryOver:
    """
    Write the lines into the open plan of the patient, as a stage of their own, or start a plan.

    Args:
        lines: not saved yet and of no stage; at least one.

    Raises:
        CarriedAlready: the record's top-up is in a plan.
        OutcomeError: the record decides against a top-up, or no line is chosen.
        PlanError: the plan takes no further stage, or not so many lines.
    """
    if record.top_up != TopUp.TOP_UP:
        raise OutcomeError("This record decides on no top-up, so nothing is carried over.")
    if not lines:
        raise OutcomeError("Choose at least one line to carry over.")
    with acting(actor) as trail:
        # Where all writers of the patient's plans meet, and so two of one record do.
        patient = Patient.objects.select_for_update().get(pk=record.review.patient_id)
        if CarryOver.objects.filter(record=record).exists():
            raise CarriedAlready("The top-up of this record is in a plan already.")
        plan = patient.plans.still_open().first()
        if plan is None:
            treated = timezone.localdate(record.review.session.started_at)
            title = f"Top-up of {treated:%-d %B %Y}"
            plan = start_plan(patient=patient, title=title, lines=list(lines), actor=actor)
        else:
            stage = add_stage(plan=plan, actor=actor)
            add_copies(stage=stage, lines=lines, actor=actor)
        carried = CarryOver.objects.create(record=record, plan=plan, at=timezone.now(), by=actor)
        trail.add(
            "review.top_up_planned",
            record,
            patient_id=patient.pk,
            after={"plan": plan.pk, "lines": [str(line) for line in lines]},
        )
    return carried

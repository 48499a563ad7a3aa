"""Reads of plans that have more than one caller."""

from collections.abc import Iterable

from django.db.models import Prefetch, QuerySet

from planning.plan_progress import PlannedLine
from planning.vocabulary import Plane, Side, Technique
from records.plans.models import Plan, PlanLine, PlanStage


def with_lines(plans: QuerySet[Plan]) -> QuerySet[Plan]:
    """Stages, lines and their products with the plans: three queries more."""
    lines = PlanLine.objects.select_related("product")
    stages = PlanStage.objects.select_related("session").prefetch_related(
        Prefetch("lines", queryset=lines)
    )
    return plans.prefetch_related(Prefetch("stages", queryset=stages.order_by("number")))


def open_plans(patients: Iterable[int]) -> dict[int, Plan]:
    """By patient, the plan that is being carried out: four queries."""
    plans = with_lines(Plan.objects.still_open().filter(patient__in=list(patients)))
    return {plan.patient_id: plan for plan in plans}


def planned_lines(lines: Iterable[PlanLine]) -> list[PlannedLine]:
    """The lines as `planning.plan_progress` compares them; keys are database ids."""
    return [
        PlannedLine(
            key=line.pk,
            region=line.region,
            side=Side(line.side),
            product=line.product.line_key,
            plane=Plane(line.plane),
            technique=Technique(line.technique),
            measure=line.measure,
            amount=line.amount,
        )
        for line in lines
    ]

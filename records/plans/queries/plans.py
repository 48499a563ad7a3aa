"""Reads of plans that have more than one caller."""

from collections.abc import Iterable
from datetime import date, timedelta

from django.db.models import F, Prefetch, Q, QuerySet

from planning.plan_progress import PlannedLine
from planning.vocabulary import Plane, ProductKind, Side, Technique
from records.appointments.models import start_of
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


def stages_of_sessions(sessions: Iterable[int]) -> dict[int, PlanStage]:
    """By session, the stage it took up, with its plan, lines and products: three queries."""
    stages = PlanStage.objects.select_related("plan").prefetch_related("lines__product").order_by()
    taken_up = stages.filter(session__in=list(sessions))
    return {stage.session_id: stage for stage in taken_up if stage.session_id is not None}


def kinds_planned(patients: Iterable[int], on: date) -> dict[int, frozenset[ProductKind]]:
    """
    By patient, the kinds of product that the stage under way gives, or else the next one to come,
    of plans made by that day; nobody without such a plan. One query.
    """
    lines = PlanLine.objects.filter(
        Q(stage__session__isnull=True) | Q(stage__session__signed_at__isnull=True),
        stage__plan__patient__in=list(patients),
        stage__plan__closed_at__isnull=True,
        stage__plan__made_at__lt=start_of(on + timedelta(days=1)),
    )
    under_way_first = (F("stage__session").asc(nulls_last=True), "stage__number")
    stages: dict[int, int] = {}
    kinds: dict[int, set[ProductKind]] = {}
    for patient, stage, kind in lines.order_by(*under_way_first).values_list(
        "stage__plan__patient", "stage", "product__kind"
    ):
        if stages.setdefault(patient, stage) == stage:
            kinds.setdefault(patient, set()).add(ProductKind(kind))
    return {patient: frozenset(found) for patient, found in kinds.items()}


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

"""A stage of a plan against the limits, before anything is opened."""

from dataclasses import replace

from django.utils import timezone

from clinic.policy.queries import current_policy
from planning.flags import FlagLevel, SessionPoint
from planning.limits import session_flags
from planning.limits.entries import CONFIRM_OR_CORRECT
from planning.reference_ranges import Per
from planning.vocabulary import Plane, ProductKind, Side
from records.plans.models import PlanLine, PlanStage
from records.sessions.models import TreatmentSession
from records.sessions.queries.facts import session_facts
from records.sessions.queries.flags import ShownFlag

# A line may be given in many points: what is asked about a single one is asked when it is charted,
# so a region whose usual amount is one of a point counts as neither above it nor without one.
_OF_ONE_POINT = {"large-point", "no-reference-filler"}


def plan_flags(stage: PlanStage) -> list[ShownFlag]:
    """
    What the limits say if the stage were given today, with what the record knows of the patient; of
    a stage that a session took up, as of that session, whose own points are not counted beside the
    lines. Lines count as points, numbered as they stand in the plan.
    """
    session = stage.session or TreatmentSession(
        patient=stage.plan.patient, started_at=timezone.now()
    )
    lines = list(stage.lines.all())
    facts = session_facts(session, [], current_policy())
    by_side = {
        region: usual
        for region, usual in facts.settings.region_ranges.items()
        if usual.per is not Per.POINT
    }
    facts = replace(
        facts,
        points=tuple(_point(number, line) for number, line in enumerate(lines, start=1)),
        planned={},
        settings=replace(facts.settings, region_ranges=by_side),
    )
    names = {number: str(line) for number, line in enumerate(lines, start=1)}
    return [
        ShownFlag(
            level="note" if flag.level == FlagLevel.NOTE else "caution",
            label=flag.level.label,
            title=_named(flag.text, names),
            text=_with_lines(flag.what_to_do, [names[number] for number in flag.points]),
            source=str(flag.source),
        )
        for flag in session_flags(facts)
        if flag.code not in _OF_ONE_POINT
    ]


def _named(text: str, names: dict[int, str]) -> str:
    """The checks call an entry a point; here each is a line, and is called by its name."""
    for number, name in names.items():
        text = text.replace(f"Point {number}:", f"{name}:")
    return text


def _with_lines(what_to_do: str, lines: list[str]) -> str:
    if what_to_do == CONFIRM_OR_CORRECT:  # of a point that was given already
        what_to_do = "Correct the plan, or leave it if that is meant."
    return f"{what_to_do} It is about: {'; '.join(lines)}." if lines else what_to_do


def _point(number: int, line: PlanLine) -> SessionPoint:
    product = line.product
    return SessionPoint(
        product_key=product.line_key,
        product_label=product.line_name,
        measure=product.measure,
        region=line.region,
        region_label=line.region_label,
        side=Side(line.side),
        unit_key=("planned", number),
        amount=line.amount,
        number=number,
        kind=ProductKind(product.kind),
        plane=Plane(line.plane),
        substance=product.name,
        lidocaine_ug_per_ml=product.lidocaine_ug_per_ml,
    )

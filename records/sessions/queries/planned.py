"""What was planned for a session, against what was given in it."""

from collections.abc import Iterable
from dataclasses import dataclass

from planning.amounts import format_amount
from planning.plan_progress import GivenPoint, LineProgress, LineState, Progress, progress
from planning.vocabulary import Plane, Side, Technique
from records.plans.models import PlanLine, PlanStage
from records.plans.queries.plans import planned_lines
from records.sessions.models import InjectionEntry, TreatmentSession


@dataclass(frozen=True)
class PlanRow:
    """A planned line as a page shows it, with how far it is."""

    line: PlanLine
    progress: LineProgress

    @property
    def badge(self) -> str:
        """The look of its state; the words are the state's own."""
        return {
            LineState.OPEN: "cancelled",
            LineState.PARTLY: "due",
            LineState.DONE: "done",
            LineState.OVER: "urgent",
        }[self.progress.state]

    @property
    def difference_text(self) -> str:
        """ "+0.1 mL", "−0.2 mL", or "none"."""
        difference = self.progress.difference
        if not difference:
            return "none"
        return ("+" if difference > 0 else "") + format_amount(difference, self.line.measure)


@dataclass(frozen=True)
class PlanAndDone:
    """
    The stage a session took up, its lines, and the points that nobody planned. `reference` is what
    `planning.plan_progress` made of them.
    """

    stage: PlanStage
    rows: list[PlanRow]
    unplanned: list[InjectionEntry]
    reference: Progress


def stage_of(session: TreatmentSession) -> PlanStage | None:
    """With its plan, lines and products: two queries."""
    stages = PlanStage.objects.select_related("plan").prefetch_related("lines__product")
    return stages.filter(session=session).first()


def given_points(points: Iterable[InjectionEntry]) -> list[GivenPoint]:
    """The standing points as they are compared; unit, lot and product loaded."""
    return [
        GivenPoint(
            key=point.pk,
            region=point.region,
            side=Side(point.side),
            product=point.unit.lot.product.line_key,
            plane=Plane(point.plane),
            technique=Technique(point.technique),
            amount=point.amount,
        )
        for point in points
    ]


def plan_and_done(
    session: TreatmentSession, points: Iterable[InjectionEntry]
) -> PlanAndDone | None:
    """None where no plan was made for this session."""
    stage = stage_of(session)
    if stage is None:
        return None
    points, lines = list(points), list(stage.lines.all())
    found = progress(planned_lines(lines), given_points(points))
    by_key = {point.pk: point for point in points}
    return PlanAndDone(
        stage,
        [PlanRow(line, row) for line, row in zip(lines, found.lines, strict=True)],
        [by_key[point.key] for point in found.unplanned],  # type: ignore[index]
        found,
    )

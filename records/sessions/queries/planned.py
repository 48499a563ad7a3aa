"""What was planned for a session, against what was given in it."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from clinic.products.models import Product
from planning.amounts import format_amount
from planning.plan_progress import GivenPoint, LineProgress, LineState, progress
from planning.vocabulary import Plane, Side, Technique
from records.plans.models import PlanLine, PlanStage
from records.plans.queries.plans import planned_lines, stages_of_sessions
from records.sessions.enums import Remainder
from records.sessions.models import InjectionEntry, SessionUnit, TreatmentSession
from records.sessions.queries.tray import wasted_under_way


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
class UnitCount:
    """
    Units of one product: how many the plan would have opened, how many were, and what of them was
    thrown away, in base units.
    """

    product: Product
    planned: int
    opened: int
    wasted: int


@dataclass(frozen=True)
class PlanAndDone:
    """The stage a session took up, its lines, and the points that nobody planned."""

    stage: PlanStage
    rows: list[PlanRow]
    units: list[UnitCount]
    unplanned: list[InjectionEntry]


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
    session: TreatmentSession, points: Iterable[InjectionEntry], tray: Iterable[SessionUnit]
) -> PlanAndDone | None:
    """None where no plan was made for this session. The tray's units come with their products."""
    stage = stages_of_sessions([session.pk]).get(session.pk)
    if stage is None:
        return None
    points, lines = list(points), list(stage.lines.all())
    found = progress(planned_lines(lines), given_points(points))
    by_key = {point.pk: point for point in points}
    return PlanAndDone(
        stage,
        [PlanRow(line, row) for line, row in zip(lines, found.lines, strict=True)],
        _unit_counts(session, stage, list(tray)),
        [by_key[point.key] for point in found.unplanned],  # type: ignore[index]
    )


def _unit_counts(
    session: TreatmentSession, stage: PlanStage, tray: list[SessionUnit]
) -> list[UnitCount]:
    """Of what was planned or opened; a unit that was open before counts for nothing but waste."""
    planned = {int(pk): units for pk, units in stage.units_planned.items()}
    products = Product.objects.in_bulk(planned)
    products |= {row.unit.lot.product_id: row.unit.lot.product for row in tray}
    opened: Counter[int] = Counter()
    wasted: Counter[int] = Counter()
    under_way = wasted_under_way(session, tray)
    for row in tray:
        product = row.unit.lot.product_id
        opened[product] += row.unit.opening.session_id == session.pk
        left_over = row.remainder_amount if row.remainder == Remainder.WASTED else 0
        wasted[product] += under_way.get(row.unit_id, 0) + (left_over or 0)
    return [
        UnitCount(product, planned.get(pk, 0), opened[pk], wasted[pk])
        for pk, product in sorted(products.items(), key=lambda item: item[1].name)
    ]

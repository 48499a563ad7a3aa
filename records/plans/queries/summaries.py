"""What the printed summary of a plan shows besides the quote."""

from dataclasses import dataclass

from django.utils import timezone

from planning.atlas.drawing import VIEW_NAMES, draw_view
from planning.atlas.plan_marks import draw_plan
from planning.atlas.region_map import DRAWN_VIEWS
from planning.atlas.regions import NAMES, Region
from planning.consents import kinds_for
from planning.vocabulary import Jaw, ProductKind, Side, View
from records.consents.queries import Standing, standings
from records.patients.models import Patient
from records.plans.models import PlanLine
from records.plans.queries.chart import plan_marks
from records.plans.queries.quotes import Quote
from records.plans.queries.units import StageUnits

# Of the face without the back of the head: left, top, width, height in mm. As the chart notes.
FRAMES = {
    View.FRONT: (-88, -80, 176, 202),
    View.RIGHT: (-122, -80, 164, 202),
    View.LEFT: (-42, -80, 164, 202),
    View.NECK: (-128, 76, 256, 175),
    View.HANDS: (-134, -40, 268, 225),
}
WIDTH_MM = 78
LABEL_SCALE = 1.7


@dataclass(frozen=True)
class PlannedRegion:
    """A region in the patient's words, the sides, and what it gets there."""

    name: str
    sides: str
    product: str
    amounts: list[PlanLine]


@dataclass(frozen=True)
class SummaryContent:
    """`consents` are those that the planned products ask for, as they stand now."""

    charts: list[tuple[str, str]]
    stages: list[tuple[StageUnits, list[PlannedRegion]]]
    consents: list[Standing]


def summary_content(quote: Quote, patient: Patient) -> SummaryContent:
    lines = [line for row in quote.stages for line in row.stage.lines.all()]
    return SummaryContent(
        charts=_charts(lines),
        stages=[(row, _regions(list(row.stage.lines.all()))) for row in quote.stages],
        consents=_consents(patient, lines),
    )


def _consents(patient: Patient, lines: list[PlanLine]) -> list[Standing]:
    found = standings(patient, timezone.now())
    return [found[kind] for kind in kinds_for(ProductKind(line.product.kind) for line in lines)]


def _charts(lines: list[PlanLine]) -> list[tuple[str, str]]:
    """(name of the view, drawing) of the views that hold something."""
    charts = []
    for view in DRAWN_VIEWS:
        marks = plan_marks(lines, view)
        if not marks:
            continue
        svg = draw_view(view, Jaw.AVERAGE, labels=False, width=f"{WIDTH_MM}mm", frame=FRAMES[view])
        labels = draw_plan(view, marks, scale=LABEL_SCALE)
        # The PDF reads out a figure's title.
        title = f"><title>{VIEW_NAMES[view]}, with the planned amounts</title>"
        svg = svg.replace(">", title, 1).replace("</svg>", f"{labels}</svg>")
        charts.append((view.label, svg))
    return charts


def _regions(lines: list[PlanLine]) -> list[PlannedRegion]:
    """Both sides of a region and product in one row, in the order of the plan."""
    found: dict[tuple, list[PlanLine]] = {}
    for line in lines:
        found.setdefault((line.region, line.product.line_key), []).append(line)
    return [
        PlannedRegion(
            name=NAMES[Region(region)].trade.capitalize(),
            sides=_sides(rows),
            product=rows[0].product.line_name,
            amounts=sorted(rows, key=lambda line: list(Side).index(Side(line.side))),
        )
        for (region, _), rows in found.items()
    ]


def _sides(lines: list[PlanLine]) -> str:
    sides = [side for side in Side if any(line.side == side for line in lines)]
    if sides == [Side.LEFT, Side.RIGHT]:
        return "both sides"
    return " and ".join(side.label.lower() for side in sides)

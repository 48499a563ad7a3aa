"""A stage's lines on the drawings."""

from collections.abc import Iterable

from django.utils.safestring import SafeString, mark_safe

from planning.amounts import format_amount
from planning.atlas.plan_marks import PlanMark, draw_plan, spread
from planning.atlas.region_map import DRAWN_VIEWS
from planning.vocabulary import Jaw, ProductKind, View
from records.drawings.queries import region_places
from records.plans.models import PlanLine

READ_SCALE = 1.7
"""How much larger than life labels are on pages: figures of about 12 CSS pixels."""


def line_place(line: PlanLine) -> dict | None:
    """{view, x_dmm, y_dmm} well inside a line's region, on the average face."""
    return region_places(Jaw.AVERAGE).get(line.region, {}).get(line.side)


def plan_marks(lines: Iterable[PlanLine], view: View) -> list[PlanMark]:
    """Those of the lines that lie on this view, as planned: what was given is not known here."""
    marks = []
    for line in lines:
        place = line_place(line)
        if place is None or place["view"] != view:
            continue
        marks.append(
            PlanMark(
                place["x_dmm"],
                place["y_dmm"],
                line.plain_amount,
                ProductKind(line.product.kind),
                label=(
                    f"{line}: {line.product.line_name} {format_amount(line.amount, line.measure)}"
                ),
                key=str(line.pk),
            )
        )
    return marks


def line_places(lines: Iterable[PlanLine], scale: float) -> dict[int, dict]:
    """By line, {view, x_dmm, y_dmm} of its label where no other lies, for labels of this scale."""
    lines, places = list(lines), {}
    for view in DRAWN_VIEWS:
        marks = plan_marks(lines, view)
        for mark, (x, y) in zip(marks, spread(marks, scale), strict=True):
            places[int(mark.key)] = {"view": view, "x_dmm": round(x * 10), "y_dmm": round(y * 10)}
    return places


def plan_views(lines: Iterable[PlanLine]) -> list[dict]:
    """For templates/drawings/_marks.html: every view with its labels, and how many there are."""
    lines = list(lines)
    found = []
    for view in DRAWN_VIEWS:
        marks = plan_marks(lines, view)
        found.append({"view": view, "marks": _safe(view, marks), "count": len(marks)})
    return found


def _safe(view: View, marks: list[PlanMark]) -> SafeString:
    return mark_safe(draw_plan(view, marks, scale=READ_SCALE))  # noqa: S308 - the atlas escapes what it writes

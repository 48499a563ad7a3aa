"""The points of a session as the face chart marks them."""

from collections.abc import Iterable

from django.utils.safestring import SafeString, mark_safe

from planning.amounts import format_amount
from planning.atlas.marks import Mark, draw_marks
from planning.vocabulary import Measure, Plane, ProductKind, Technique, View
from records.sessions.models import InjectionEntry

READ_SCALE = 1.4
"""How much larger than life marks are on the read-only pages: numbers of about 12 CSS pixels."""


def point_mark(point: InjectionEntry) -> Mark:
    """A point as the chart marks it; needs unit, lot and product loaded."""
    amount = format_amount(point.amount, Measure(point.measure))
    return Mark(
        number=point.number,
        x_dmm=point.x_dmm,
        y_dmm=point.y_dmm,
        plane=Plane(point.plane),
        technique=Technique(point.technique),
        kind=ProductKind(point.unit.lot.product.kind),
        label=(
            f"{point.number}: {point.region_label}, {point.get_side_display().lower()}, "
            f"{amount}, {point.get_plane_display().lower()}, "
            f"{point.get_technique_display().lower()}"
        ),
        key=str(point.key),
        reach=_reach(point),
        amount=point.plain_amount,
    )


def _reach(point: InjectionEntry) -> tuple[int, int] | None:
    """Where its thread or fan ends; None where nobody said."""
    if point.reach_x_dmm is None or point.reach_y_dmm is None:
        return None
    return point.reach_x_dmm, point.reach_y_dmm


def point_marks(points: Iterable[InjectionEntry], view: View) -> SafeString:
    """The <g> with the marks of one view, which the screen swaps in alone."""
    marks = [point_mark(point) for point in points if point.view == view]
    return mark_safe(draw_marks(view, marks, mark_scale=READ_SCALE))  # noqa: S308 - the atlas escapes what it writes

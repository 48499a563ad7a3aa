"""The face chart as a note prints it: how much of each view, how large, and what its signs mean."""

from dataclasses import dataclass
from itertools import groupby

from planning.atlas.drawing import VIEW_BOXES, VIEW_NAMES, draw_view
from planning.atlas.mark_labels import FONT_MM
from planning.atlas.marks import LegendEntry, Mark, legend
from planning.vocabulary import Jaw, View
from records.sessions.drawing import point_mark
from records.sessions.models import InjectionEntry, TreatmentSession

# The face of each view without the back of the head: left, top, right, bottom in mm.
FACES: dict[View, tuple[int, int, int, int]] = {
    View.FRONT: (-88, -80, 88, 122),
    View.RIGHT: (-122, -80, 42, 122),
    View.LEFT: (-42, -80, 122, 122),
}
MARGIN_MM = 10

# One scale for all views of a note. Three views and their heading fill one page.
SCALES = {1: 0.52, 2: 0.5, 3: 0.46}
LINE_WIDTH_MM = 178
NUMBER_MM = 2.4
"""Height of a point's number on paper: 6.8 pt."""


@dataclass(frozen=True)
class PrintedChart:
    """One view and its drawing."""

    view: View
    svg: str


@dataclass(frozen=True)
class SignGroup:
    """The signs of one kind that the note's charts use: techniques, planes or products."""

    name: str
    entries: tuple[LegendEntry, ...]


@dataclass(frozen=True)
class ChartRow:
    """Charts that stand beside one another; the signs stand beside a chart that is alone."""

    charts: tuple[PrintedChart, ...]

    @property
    def has_room(self) -> bool:
        return len(self.charts) == 1


def chart_rows(session: TreatmentSession, points: list[InjectionEntry]) -> list[ChartRow]:
    """The views that hold points, the front view first; the empty front view without any."""
    used = [view for view in View if any(point.view == view for point in points)] or [View.FRONT]
    marks = {view: [point_mark(point) for point in points if point.view == view] for view in used}
    frames = {view: _frame(view, marks[view]) for view in used}
    rows = [used[:1], used[1:]] if len(used) == 3 else [used]
    widest = max(sum(frames[view][2] for view in row) for row in rows)
    scale = min(SCALES[len(used)], LINE_WIDTH_MM / widest)
    return [
        ChartRow(
            tuple(_chart(view, session, marks[view], frames[view], scale) for view in row)
        )
        for row in rows
    ]  # fmt: skip


def _chart(
    view: View,
    session: TreatmentSession,
    marks: list[Mark],
    frame: tuple[int, int, int, int],
    scale: float,
) -> PrintedChart:
    svg = draw_view(
        view,
        Jaw(session.jaw),
        marks=marks,
        labels=False,
        width=f"{frame[2] * scale:.1f}mm",
        mark_scale=NUMBER_MM / (FONT_MM * scale),
        frame=frame,
    )
    # The PDF reads out a figure's title; on screen it would hover over the whole chart.
    return PrintedChart(view, svg.replace(">", f"><title>{VIEW_NAMES[view]}</title>", 1))


def _frame(view: View, marks: list[Mark]) -> tuple[int, int, int, int]:
    """Left, top, width, height in mm: the face, and all marks with room for their numbers."""
    left, top, right, bottom = FACES[view]
    box_left, box_top, box_width, box_height = VIEW_BOXES[view]
    across = [mark.x_dmm // 10 for mark in marks]
    down = [mark.y_dmm // 10 for mark in marks]
    left = max(box_left, min([left, *(x - MARGIN_MM for x in across)]))
    right = min(box_left + box_width, max([right, *(x + MARGIN_MM for x in across)]))
    top = max(box_top, min([top, *(y - MARGIN_MM for y in down)]))
    bottom = min(box_top + box_height, max([bottom, *(y + MARGIN_MM for y in down)]))
    return left, top, right - left, bottom - top


def signs_of(points: list[InjectionEntry]) -> list[SignGroup]:
    """The signs that these points use, by kind."""
    used = {point.technique for point in points} | {point.plane for point in points}
    used |= {point.unit.lot.product.kind for point in points}
    entries = [entry for entry in legend() if entry.term in used]
    return [
        SignGroup(name, tuple(group)) for name, group in groupby(entries, lambda entry: entry.group)
    ]

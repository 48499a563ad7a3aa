"""
The drawings and photographs as a note prints them: how much of each, how large, and what the signs
on them mean.
"""

from base64 import b64encode
from dataclasses import dataclass
from itertools import groupby

from clinic.pictures.cleaning import smaller_picture
from planning.atlas.calibration import Calibration
from planning.atlas.drawing import VIEW_BOXES, VIEW_NAMES, draw_view
from planning.atlas.mark_labels import FONT_MM
from planning.atlas.marks import LegendEntry, Mark, draw_marks, legend
from planning.atlas.overlays import BOTH_SIDES
from planning.vocabulary import Jaw, View
from records.sessions.drawing import point_mark
from records.sessions.models import InjectionEntry, SessionPicture, TreatmentSession
from records.sessions.services.pictures import picture_image

# What is printed of each view at least: left, top, right, bottom in mm. Of the face without the
# back of the head.
FACES: dict[View, tuple[int, int, int, int]] = {
    View.FRONT: (-88, -80, 88, 122),
    View.RIGHT: (-122, -80, 42, 122),
    View.LEFT: (-42, -80, 122, 122),
    View.NECK: (-128, 76, 128, 251),
    View.HANDS: (-134, -40, 134, 185),
}
MARGIN_MM = 10

# One scale for all views of the face. Three of them and their heading fill one page.
SCALES = {1: 0.52, 2: 0.5, 3: 0.46}
BODY = frozenset({View.NECK, View.HANDS})
BODY_SCALE = 0.33
"""Neck and hands: two of them beside one another fill a line."""
LINE_WIDTH_MM = 178
PICTURE_MM = (87, 108)
"""Largest width and height of a photograph: two of them fill a line."""
NUMBER_MM = 2.6
"""Height of a point's number on paper: 7.4 pt; its amount is 6.6 pt."""


@dataclass(frozen=True)
class PrintedChart:
    """One drawing or photograph. `has_sides`: the patient's right is on its left."""

    view: View
    label: str
    has_sides: bool
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


def chart_rows(
    session: TreatmentSession, points: list[InjectionEntry], *, picture_px: int | None = None
) -> list[ChartRow]:
    """
    The views that hold points, the front view first, then the photographs that do; the empty front
    view without any.

    Args:
        picture_px: the long side of the photographs; None: as they are kept.
    """
    on = {view: [point for point in points if point.view == view] for view in View}
    used = [view for view in VIEW_BOXES if on[view]]
    if not points:
        used = [View.FRONT]
    face = [view for view in used if view not in BODY]
    body = [view for view in used if view in BODY]
    marks = {view: [point_mark(point) for point in on[view]] for view in used}
    frames = {view: _frame(view, marks[view]) for view in used}
    rows = [face[:1], face[1:]] if len(face) == 3 else [face] if face else []
    scale = _face_scale(rows, frames)
    charts = [
        tuple(_chart(view, session, marks[view], frames[view], scale) for view in row)
        for row in rows
    ]
    if body:
        charts.append(
            tuple(_chart(view, session, marks[view], frames[view], BODY_SCALE) for view in body)
        )
    charts += [tuple(row) for row in _photographs(on[View.PICTURE], picture_px)]
    return [ChartRow(row) for row in charts]


def _face_scale(rows: list[list[View]], frames: dict[View, tuple[int, int, int, int]]) -> float:
    """Printed millimetres per millimetre of face."""
    if not rows:
        return 1
    widest = max(sum(frames[view][2] for view in row) for row in rows)
    return min(SCALES[sum(map(len, rows))], LINE_WIDTH_MM / widest)


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
        mark_scale=_mark_scale(scale),
        frame=frame,
    )
    return PrintedChart(view, view.label, view in BOTH_SIDES, _titled(svg, VIEW_NAMES[view]))


def _mark_scale(scale: float) -> float:
    return NUMBER_MM / (FONT_MM * scale)


def _titled(svg: str, title: str) -> str:
    """The PDF reads out a figure's title; on screen it would hover over the whole chart."""
    return svg.replace(">", f"><title>{title}</title>", 1)


def _frame(view: View, marks: list[Mark]) -> tuple[int, int, int, int]:
    """Left, top, width, height in mm: the face, and all marks with room for their numbers."""
    left, top, right, bottom = FACES[view]
    box_left, box_top, box_width, box_height = VIEW_BOXES[view]
    ends = [place for mark in marks for place in (mark.at, mark.end)]
    across, down = [int(x) for x, _ in ends], [int(y) for _, y in ends]
    left = max(box_left, min([left, *(x - MARGIN_MM for x in across)]))
    right = min(box_left + box_width, max([right, *(x + MARGIN_MM for x in across)]))
    top = max(box_top, min([top, *(y - MARGIN_MM for y in down)]))
    bottom = min(box_top + box_height, max([bottom, *(y + MARGIN_MM for y in down)]))
    return left, top, right - left, bottom - top


# --- photographs ---


def _photographs(
    points: list[InjectionEntry], long_side: int | None
) -> list[tuple[PrintedChart, ...]]:
    """The photographs of these points in the order they were taken, two in a row."""
    ids = {point.picture_id for point in points if point.picture_id}
    if not ids:
        return []
    pictures = SessionPicture.objects.filter(pk__in=ids).order_by("taken_at", "pk")
    charts = [
        _photograph(
            number, picture, scale, [p for p in points if p.picture_id == picture.pk], long_side
        )
        for number, picture in enumerate(pictures, start=1)
        if (scale := picture.scale)  # one with points has its scale
    ]
    return [tuple(charts[index : index + 2]) for index in range(0, len(charts), 2)]


def _photograph(
    number: int,
    picture: SessionPicture,
    scale: Calibration,
    points: list[InjectionEntry],
    long_side: int | None,
) -> PrintedChart:
    """A photograph at its own scale: one unit of the drawing is one of its millimetres."""
    width, height = scale.to_dmm(picture.width) / 10, scale.to_dmm(picture.height) / 10
    shrink = min(PICTURE_MM[0] / width, PICTURE_MM[1] / height)
    marks = draw_marks(
        View.PICTURE, [point_mark(point) for point in points], mark_scale=_mark_scale(shrink)
    )
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="atlas atlas-picture" '
        f'viewBox="0 0 {width:g} {height:g}" width="{width * shrink:.1f}mm" role="img">'
        f"{_image(picture, width, height, long_side)}{marks}</svg>"
    )
    label = f"Photograph {number}"
    title = f"{label} of the patient, with the numbers of the points on it."
    return PrintedChart(View.PICTURE, label, has_sides=False, svg=_titled(svg, title))


def _image(picture: SessionPicture, width: float, height: float, long_side: int | None) -> str:
    size = f'width="{width:g}" height="{height:g}"'
    try:
        kept = picture_image(picture)
    except FileNotFoundError:
        return (
            f'<rect {size} fill="#f2f2f2"/><text x="{width / 2:g}" y="{height / 2:g}" '
            f'font-family="Clinic Sans, sans-serif" font-size="{width / 20:g}" fill="#333333" '
            'text-anchor="middle">The photograph is missing.</text>'
        )
    if long_side is not None:
        kept = smaller_picture(kept, long_side=long_side).data
    data = b64encode(kept).decode()
    return f'<image {size} preserveAspectRatio="none" href="data:image/jpeg;base64,{data}"/>'


def signs_of(points: list[InjectionEntry]) -> list[SignGroup]:
    """The signs that these points use, by kind."""
    used = {point.technique for point in points} | {point.plane for point in points}
    used |= {point.unit.lot.product.kind for point in points}
    entries = [entry for entry in legend() if entry.term in used]
    return [
        SignGroup(name, tuple(group)) for name, group in groupby(entries, lambda entry: entry.group)
    ]

"""The photographs of a session with its points on them, for a page."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe

from planning.atlas.marks import draw_marks
from planning.vocabulary import View
from records.sessions.drawing import point_mark
from records.sessions.models import InjectionEntry, SessionPicture, TreatmentSession

# Marks are drawn for a chart of about this size; a larger photograph needs larger ones.
_CHART_MM = (160, 140)


@dataclass(frozen=True)
class PictureChart:
    """`width` and `height` in the photograph's millimetres, in pixels if it has no scale."""

    label: str
    url: str
    width: float
    height: float
    marks: SafeString
    count: int


def picture_charts(
    session: TreatmentSession, points: Iterable[InjectionEntry]
) -> list[PictureChart]:
    """Every photograph that was not removed; `points` are the standing ones, products loaded."""
    points = list(points)
    return [
        _chart(number, picture, [point for point in points if point.picture_id == picture.pk])
        for number, picture in enumerate(session.pictures.standing().order_by("id"), start=1)
    ]


def _chart(number: int, picture: SessionPicture, points: list[InjectionEntry]) -> PictureChart:
    width, height = _size(picture)
    mark_scale = max(width / _CHART_MM[0], height / _CHART_MM[1])
    marks = draw_marks(View.PICTURE, [point_mark(point) for point in points], mark_scale=mark_scale)
    return PictureChart(
        label=f"Photo {number}",
        url=reverse("charting-picture", args=[picture.key]),
        width=width,
        height=height,
        marks=mark_safe(marks),  # noqa: S308 - the atlas escapes what it writes
        count=len(points),
    )


def _size(picture: SessionPicture) -> tuple[float, float]:
    if (scale := picture.scale) is None:
        return picture.width, picture.height
    return scale.to_dmm(picture.width) / 10, scale.to_dmm(picture.height) / 10

"""Two pictures laid over each other, what lies between them, and what they may be used for."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Count, Max
from django.utils import timezone

from planning.alignment import (
    UNMOVED,
    AlignmentError,
    Outline,
    Placement,
    affine,
    half,
    midline,
    mirrored,
    similar,
)
from planning.atlas.geometry import Cell
from planning.landmarks import Landmark, marks_of
from planning.standard_views import SHOTS, Shot
from planning.vocabulary import Side
from records.comparisons.enums import Fit
from records.comparisons.models import PhotographMark
from records.patients.models import Patient
from records.photographs.enums import Use
from records.photographs.models import Photograph, PhotographUse
from records.sessions.queries.lists import PastSession, patient_sessions

_NO_MIDLINE = (
    "The midline follows from the marks on both sides: mark this picture first, then one side is "
    "mirrored onto the other."
)
_FEW = "Not aligned: mark the same two or three places on both pictures."
_LATEST = 3


@dataclass(frozen=True)
class Layer:
    """
    One picture of a comparison.

    Attributes:
        placement: from its own pixels to those of the first picture.
        outline: what is shown of it, in pixels of the first picture; None for all.
    """

    photograph: Photograph
    label: str
    placement: Placement = UNMOVED
    outline: Outline | None = None


@dataclass(frozen=True)
class Comparison:
    """
    Two layers in the axes of the first picture.

    Attributes:
        frame: left, top, width and height of what is shown, in pixels of the first picture.
        side: the treated one, where one side is mirrored onto the other.
        marks: by how many both pictures are laid over each other; 0 where they are not.
        off: how far these then lie from each other, in pixels (`Placement.error`).
        trouble: a sentence that says why they are not aligned; else empty.
    """

    layers: tuple[Layer, Layer]
    frame: tuple[float, float, float, float]
    side: Side | None = None
    fit: Fit = Fit.SHAPE
    marks: int = 0
    off: float = 0.0
    trouble: str = ""

    @property
    def photographs(self) -> list[Photograph]:
        """The pictures it is made of: two, or one."""
        first, second = (layer.photograph for layer in self.layers)
        return [first] if first.pk == second.pk else [first, second]

    @property
    def patient(self) -> Patient:
        return self.layers[0].photograph.patient

    @property
    def is_stretched(self) -> bool:
        return self.fit is Fit.STRETCHED


def compare(one: Photograph, other: Photograph, fit: Fit = Fit.SHAPE) -> Comparison:
    """Both pictures, the earlier one first, the later one laid over it by the marks of both."""
    first, second = sorted([one, other], key=lambda each: (each.taken_at, each.pk))
    places = _places_on([first, second])
    known = [
        landmark
        for landmark in marks_of(first.shot.view).landmarks
        if landmark in places[first.pk] and landmark in places[second.pk]
    ]
    source = [places[second.pk][landmark] for landmark in known]
    target = [places[first.pk][landmark] for landmark in known]
    placement, off, trouble = UNMOVED, 0.0, ""
    try:
        placement = _fitted(source, target, fit)
        off = placement.error(source, target)
    except AlignmentError as error:
        trouble = str(error) if len(known) >= 2 else _FEW
    if trouble:
        placement = _as_wide(second, first)
    return Comparison(
        layers=(Layer(first, "Earlier"), Layer(second, "Later", placement)),
        frame=(0, 0, first.width, first.height),
        fit=fit,
        marks=0 if trouble else len(known),
        off=off,
        trouble=trouble,
    )


def compare_sides(photograph: Photograph, treated: Side) -> Comparison:
    """The treated side, and the other one mirrored onto it about the midline of the marks."""
    marks = marks_of(photograph.shot.view)
    places = _places_on([photograph])[photograph.pk]
    pair = [places.get(landmark) for landmark in marks.landmarks[:2]]
    labels = (f"Patient’s {treated}", f"Patient’s {treated.opposite}, mirrored")
    if not marks.has_sides or pair[0] is None or pair[1] is None:
        layers = (Layer(photograph, labels[0]), Layer(photograph, labels[1]))
        frame = (0, 0, photograph.width, photograph.height)
        return Comparison(layers, frame, treated, trouble=_NO_MIDLINE)
    axis = midline(pair[0], pair[1], places.get(marks.landmarks[2]))
    shown = half(photograph.width, photograph.height, axis, places[marks.of_side(treated)])
    layers = (
        Layer(photograph, labels[0], outline=shown),
        Layer(photograph, labels[1], mirrored(axis), shown),
    )
    return Comparison(layers, _around(shown), treated, marks=len(places))


def _fitted(source: Sequence[Cell], target: Sequence[Cell], fit: Fit) -> Placement:
    return affine(source, target) if fit is Fit.STRETCHED else similar(source, target)


def _as_wide(second: Photograph, first: Photograph) -> Placement:
    """As wide as the first and level with its top, as long as nothing says how they belong."""
    scale = first.width / second.width
    return Placement(scale, 0, 0, scale, 0, 0)


def _around(outline: Outline) -> tuple[float, float, float, float]:
    across, down = [x for x, _ in outline], [y for _, y in outline]
    return min(across), min(down), max(across) - min(across), max(down) - min(down)


def _places_on(photographs: Iterable[Photograph]) -> dict[int, dict[Landmark, Cell]]:
    """Of each photograph, by its id: where its marks lie."""
    places: dict[int, dict[Landmark, Cell]] = {each.pk: {} for each in photographs}
    for mark in PhotographMark.objects.filter(photograph__in=places):
        places[mark.photograph_id][Landmark(mark.landmark)] = (mark.x, mark.y)
    return places


def places_on(photograph: Photograph) -> dict[Landmark, Cell]:
    """Where the marks of a photograph lie."""
    return _places_on([photograph])[photograph.pk]


# --- what there is to compare, and what belongs to it ---


@dataclass(frozen=True)
class ShotCount:
    """How many photographs a patient has that show this, and when the latest was taken."""

    shot: Shot
    count: int
    latest: datetime


def shots_of(patient: Patient) -> list[ShotCount]:
    """What the patient's photographs show, in the order of the series; one query."""
    counted = (
        patient.photographs.standing()
        .order_by()
        .values_list("view", "state")
        .annotate(Count("pk"), Max("taken_at"))
    )
    found = [ShotCount(Shot.of(f"{view}:{state}"), *rest) for view, state, *rest in counted]
    order = {shot: place for place, shot in enumerate(SHOTS)}
    return sorted(found, key=lambda row: order.get(row.shot, len(order)))


def treatments_between(comparison: Comparison) -> list[PastSession]:
    """
    The sessions from the day of the earlier picture to that of the later one; for two sides of one
    picture the latest until then. Newest first.
    """
    days = [timezone.localdate(each.taken_at) for each in comparison.photographs]
    until = max(days)
    since = min(days) if comparison.side is None else date.min
    rows = [
        row
        for row in patient_sessions(comparison.patient)
        if since <= timezone.localdate(row.session.started_at) <= until
    ]
    return rows if comparison.side is None else rows[:_LATEST]


def days_apart(comparison: Comparison) -> int:
    days = [timezone.localdate(each.taken_at) for each in comparison.photographs]
    return (max(days) - min(days)).days


def agreed_uses(photographs: Sequence[Photograph], *, on: date) -> dict[Use, date | None]:
    """
    What the patient agrees to for all of these on that day, each with the last day on which that
    holds; None: until it is taken back.
    """
    rows = list(PhotographUse.objects.in_force(on).filter(photograph__in=photographs))
    agreed: dict[Use, date | None] = {}
    for use in Use:
        last = [_last_day(rows, photograph, use) for photograph in photographs]
        if all(last):
            soonest = min(day for day in last if day)
            agreed[use] = None if soonest == date.max else soonest
    return agreed


def _last_day(rows: list[PhotographUse], photograph: Photograph, use: Use) -> date | None:
    """Of the agreement that lasts longest; None where there is none."""
    mine = [row for row in rows if row.photograph_id == photograph.pk and row.use == use]
    return max((row.until_on or date.max for row in mine), default=None)

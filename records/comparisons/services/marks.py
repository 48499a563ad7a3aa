"""Marks on a photograph."""

from collections.abc import Mapping

from django.utils import timezone

from clinic.audit.services import acting, changes
from planning.atlas.geometry import Cell
from planning.landmarks import Landmark
from records.comparisons.models import PhotographMark
from records.photographs.models import Photograph
from records.photographs.services.locking import lock_photograph


def place_marks(*, photograph: Photograph, places: Mapping[Landmark, Cell], actor) -> None:
    """
    Let the marks of a photograph be these and no others; one event says what changed.

    Args:
        places: in pixels of the photograph.

    Raises:
        PhotographGone: the photograph was taken out.
    """
    with acting(actor) as trail:
        photograph = lock_photograph(photograph)
        stored = {mark.landmark: mark for mark in photograph.marks.all()}
        before = {name: [mark.x, mark.y] for name, mark in stored.items()}
        after: dict[str, list[int] | None] = dict.fromkeys(stored)
        after |= {landmark.value: list(place) for landmark, place in places.items()}
        before, after = changes(before, after)
        for name, place in after.items():
            if place is None:
                stored[name].delete()
                continue
            mark = stored.get(name) or PhotographMark(photograph=photograph, landmark=name)
            mark.x, mark.y = place
            mark.placed_at, mark.placed_by = timezone.now(), actor
            mark.save()
        if after:
            trail.add(
                "photograph.marked", photograph, patient_id=photograph.patient_id,
                before=before, after=after,
            )  # fmt: skip

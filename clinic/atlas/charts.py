"""The face as a picture, and the regions over it as links into the atlas."""

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe

from planning.atlas.areas import Area, Shade, draw_areas
from planning.atlas.drawing import SCREEN_BOXES, VIEW_SIDES, draw_view
from planning.atlas.region_groups import RegionGroup
from planning.atlas.regions import Region
from planning.vocabulary import Jaw, Side, View


@dataclass(frozen=True)
class AreaChart:
    """
    One view for the page: templates/atlas/_chart.html lays the areas over the face.

    Attributes:
        face: address of the drawing, which the browser keeps.
        areas: an <svg> of the regions in the same frame.
    """

    view: View
    face: str
    areas: SafeString

    @property
    def sides(self) -> tuple[str, str]:
        return VIEW_SIDES[self.view]

    @property
    def width(self) -> int:
        return SCREEN_BOXES[self.view][2]

    @property
    def height(self) -> int:
        return SCREEN_BOXES[self.view][3]


def area_chart(
    view: View, area_of: Callable[[Region], Area | None], *, label: str, jaw: Jaw = Jaw.AVERAGE
) -> AreaChart:
    """A view with its regions over it; see `planning.atlas.areas.draw_areas`."""
    areas = draw_areas(view, jaw, area_of, label=label)
    return AreaChart(view, face_url(view, jaw), mark_safe(areas))  # noqa: S308 - the atlas escapes what it writes


_HERE: Mapping[Side, Shade] = {Side.MIDLINE: Shade("here", "")}


def atlas_charts(current: Region | None = None) -> list[AreaChart]:
    """Front, neck and hands, each region a link to its page; the `current` one is marked."""
    return [
        area_chart(
            view,
            lambda region: Area(
                region,
                region.full_label,
                reverse("atlas-region", args=[region]),
                _HERE if region is current else {},
            ),
            label=f"Regions of the atlas, {view.label.lower()}",
        )
        for view in dict.fromkeys(part.view for part in RegionGroup)
    ]


def face_url(view: View, jaw: Jaw) -> str:
    """Changes with the drawing, so that a browser keeps one until the drawing itself changes."""
    return f"{reverse('atlas-drawing', args=[view, jaw])}?v={_seal(view, jaw)}"


@lru_cache(maxsize=16)
def face(view: View, jaw: Jaw) -> str:
    """The face alone, in the frame that screens show, as an image of its own."""
    return draw_view(view, jaw, labels=False, frame=SCREEN_BOXES[view])


@lru_cache(maxsize=16)
def _seal(view: View, jaw: Jaw) -> str:
    return hashlib.sha256(face(view, jaw).encode()).hexdigest()[:16]

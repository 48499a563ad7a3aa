"""The empty face chart as pages and tablets show it, and a place inside each of its regions."""

import hashlib
from functools import lru_cache

from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe

from planning.atlas.drawing import SCREEN_BOXES, VIEW_BOXES, Layer, draw_view
from planning.atlas.locate import place_inside
from planning.atlas.region_map import DRAWN_VIEWS, shapes
from planning.vocabulary import Jaw, Side, View

LAYERS = frozenset({Layer.REGIONS, Layer.LANDMARKS, Layer.VESSELS, Layer.GRID})


@lru_cache(maxsize=16)
def view_drawing(view: View, jaw: Jaw) -> SafeString:
    """One view for the screen without marks; style sheets hide the layers nobody asked for."""
    full = 'viewBox="{} {} {} {}"'.format(*VIEW_BOXES[view])
    shown = 'viewBox="{} {} {} {}"'.format(*SCREEN_BOXES[view])
    text = draw_view(view, jaw, layers=LAYERS, prefix=f"chart-{view}", labels=False)
    return mark_safe(text.replace(full, shown, 1))  # noqa: S308 - the atlas escapes what it writes


def drawing_url(view: View, jaw: Jaw) -> str:
    """Changes with the drawing, so that a tablet keeps one until the drawing itself changes."""
    return f"{reverse('drawing', args=[view, jaw])}?v={_seal(view, jaw)}"


@lru_cache(maxsize=16)
def _seal(view: View, jaw: Jaw) -> str:
    return hashlib.sha256(view_drawing(view, jaw).encode()).hexdigest()[:16]


@lru_cache(maxsize=4)
def region_places(jaw: Jaw) -> dict[str, dict[str, dict]]:
    """
    A place well inside each region: {region: {side: {view, x_dmm, y_dmm}}}, for adding a point
    without touching the drawing. The neck view wins for what it shows, as the front view has only
    the upper edge of it; else the front view.
    """
    places: dict[str, dict[str, dict]] = {}
    for view in (View.NECK, *DRAWN_VIEWS):
        for shape in shapes(view, Jaw(jaw)):
            found = places.setdefault(shape.region.value, {})
            for side in [shape.side] if shape.side else list(Side):
                if side.value not in found and (at := place_inside(view, shape, side, Jaw(jaw))):
                    found[side.value] = {"view": view.value, "x_dmm": at[0], "y_dmm": at[1]}
    return places

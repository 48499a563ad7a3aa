"""
What a tablet has to know to draw and to name things, the same for every person and patient.

One JSON text and its seal; the seal stands in the address, so that a tablet keeps the text until
the words, the drawings or the marks themselves change.
"""

import hashlib
import json
from collections.abc import Sequence
from functools import lru_cache

from django.urls import reverse

from planning.atlas.cautions import LEVEL_BASIS, cautions_for, level_of
from planning.atlas.drawing import SCREEN_BOXES, VIEW_BOXES, VIEW_SIDES
from planning.atlas.locate import MIDLINE_HALF_WIDTH_DMM
from planning.atlas.mark_reach import WITH_REACH
from planning.atlas.marks import COLOURS, DISC, RINGS, figure, ground, legend
from planning.atlas.measurements import CHART_VERSION, MEASUREMENTS
from planning.atlas.nearness import NEAR_VESSEL_DMM, vessel_lines
from planning.atlas.overlays import Vessel
from planning.atlas.regions import MIDLINE_REGIONS, NAMES, Region
from planning.atlas.vessels import VESSELS
from planning.vocabulary import (
    AnaesthesiaMethod,
    Aspiration,
    Diluent,
    Instrument,
    Jaw,
    Plane,
    ProductKind,
    Side,
    Technique,
    Term,
    View,
)  # fmt: skip
from records.charting.queries.occlusions import occlusion_reference
from records.drawings.queries import drawing_url, region_places
from records.time_out.enums import Item

# Common sizes as sold, from memory; they are offered and limit nobody.
GAUGES = [18, 21, 22, 23, 25, 26, 27, 29, 30, 31, 32, 33, 34]
LENGTHS_MM = [4, 6, 8, 12, 13, 16, 20, 25, 30, 38, 40, 50, 60, 70, 80]

MEANS = {"pupil_dmm": "pupil-pupil", "face_height_dmm": "n-gn", "face_width_dmm": "zy-zy"}
"""The measures that scale the drawing to a patient -> the published means it is drawn by."""

WORDS: dict[str, type[Term]] = {
    "plane": Plane,
    "technique": Technique,
    "instrument": Instrument,
    "aspiration": Aspiration,
    "side": Side,
    "jaw": Jaw,
    "kind": ProductKind,
    "diluent": Diluent,
    "anaesthesia": AnaesthesiaMethod,
    "time_out": Item,
}


@lru_cache(maxsize=1)
def reference_text() -> str:
    """The JSON text, the same bytes each time."""
    return json.dumps(_reference(), ensure_ascii=False, separators=(",", ":"))


@lru_cache(maxsize=1)
def reference_seal() -> str:
    return hashlib.sha256(reference_text().encode()).hexdigest()[:16]


def reference_url() -> str:
    return reverse("charting-reference", args=[reference_seal()])


def _reference() -> dict:
    return {
        "chart_version": CHART_VERSION,
        "views": [_view(view) for view in VIEW_BOXES],
        "regions": [_region(region) for region in Region],
        "caution_basis": f"{LEVEL_BASIS} Licensed judgement and local codes come first.",
        "places": {jaw.value: region_places(jaw) for jaw in Jaw},
        "vessels": [_vessel(vessel) for vessel in VESSELS],
        "near_vessel_dmm": NEAR_VESSEL_DMM,
        "midline_half_width_dmm": MIDLINE_HALF_WIDTH_DMM,
        "words": {name: words.choices() for name, words in WORDS.items()},
        "gauges": GAUGES,
        "lengths_mm": LENGTHS_MM,
        "marks": _marks(),
        "legend": [
            {
                "group": entry.group,
                "key": entry.term.value,
                "label": entry.label,
                "svg": entry.svg,
            }
            for entry in legend()
        ],
        "with_reach": WITH_REACH,
        "occlusion": occlusion_reference(),
        "fit": {name: MEASUREMENTS[key].mean_dmm for name, key in MEANS.items()},
    }


def _view(view: View) -> dict:
    """`box`: left, top, width, height in mm of what is shown."""
    return {
        "key": view,
        "label": view.label,
        "sides": VIEW_SIDES[view],
        "box": SCREEN_BOXES[view],
        "drawings": {jaw.value: drawing_url(view, jaw) for jaw in Jaw},
    }


def _region(region: Region) -> dict:
    level = level_of(region)
    loud = "" if level.value == "present" else f" ({level.label.lower()})"
    return {
        "key": region,
        "label": region.label,
        "trade": NAMES[region].trade,
        "midline": region in MIDLINE_REGIONS,
        "level": level,
        "beware": f"Beware{loud}: {region.label}",
        "cautions": [
            {
                "text": caution.text,
                "level": caution.level,
                "level_label": caution.level.label,
                "source": f"{caution.source} ({caution.confidence})",
            }
            for caution in cautions_for(region)
        ],
    }


def _vessel(vessel: Vessel) -> dict:
    """`lines`: {view: {jaw: [[[x_dmm, y_dmm], ...], ...]}}."""
    return {
        "key": vessel.key,
        "name": vessel.name,
        "depth": vessel.depth,
        "source": f"{vessel.depth_source} ({vessel.depth_mark})",
        "lines": {
            view.value: {jaw.value: _lines(vessel, view, jaw) for jaw in Jaw}
            for view in VIEW_BOXES
            if vessel.on(view)
        },
    }


def _lines(vessel: Vessel, view: View, jaw: Jaw) -> Sequence:
    return next(lines for found, lines in vessel_lines(view, jaw) if found is vessel)


def _marks() -> dict:
    """The pieces of a mark as SVG, one unit a millimetre, centred on the point."""
    return {
        "ground": {kind.value: DISC + ground(kind) for kind in ProductKind},
        "figure": {
            f"{kind}/{technique}": figure(kind, technique)
            for kind in ProductKind
            for technique in Technique
        },
        "ring": {
            f"{kind}/{plane}": RINGS[plane](COLOURS[kind])
            for kind in ProductKind
            for plane in Plane
        },
        "colour": {kind.value: COLOURS[kind] for kind in ProductKind},
    }

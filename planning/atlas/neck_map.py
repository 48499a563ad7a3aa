"""
Outline, borders and seeds of the neck view, in millimetres: the patient's left half, x >= 0.

The axes are those of the front view, and so are the chin, the edge of the jaw and the upper neck.
Below that only the jugular notch is placed by a measurement; everything else is LAYOUT.
"""

from __future__ import annotations

from planning.atlas.geometry import Point
from planning.atlas.measurements import NECK_FRONT
from planning.atlas.outlines import FACE_EDGE, NECK
from planning.atlas.partition import Border
from planning.atlas.regions import Region

_GN, _NOTCH = NECK_FRONT["gn"].at, NECK_FRONT["jugulare"].at

JAW_CORNER: Point = (45.6, 90.7)
"""Where the neck comes out from under the jaw."""

CHIN: tuple[Point, ...] = FACE_EDGE[FACE_EDGE.index(JAW_CORNER) :]
"""From that corner along the jaw to the chin."""

_EDGE_END: Point = (128.0, 179.0)

NECK_EDGE: tuple[Point, ...] = (
    *NECK[:5],
    (46.8, 143.0),
    (50.4, 152.8),
    (58.0, 161.0),
    (72.0, 167.4),
    (98.0, 173.6),
    _EDGE_END,
)
"""Side of the neck and upper edge of the shoulder, as far as the chart goes."""

_COLLAR_START: Point = (9.5, 195.8)
_COLLAR_MIDDLE: Point = (24.0, 192.6)
_COLLAR_SCM: Point = (40.0, 191.4)
_COLLAR_END: Point = (128.0, 185.2)

COLLAR_BONE: tuple[Point, ...] = (
    _COLLAR_START,
    _COLLAR_MIDDLE,
    _COLLAR_SCM,
    (60.0, 191.0),
    (82.0, 189.2),
    (106.0, 186.4),
    _COLLAR_END,
)
"""Upper edge of the collar bone from its head outwards."""

_FLOOR_SIDE: Point = (20.0, 249.4)

FLOOR: tuple[Point, ...] = (
    _COLLAR_END,
    (126.4, 201.0),
    (119.0, 218.0),
    (102.0, 234.0),
    (76.0, 243.6),
    (46.0, 248.0),
    _FLOOR_SIDE,
    (0.0, 250.0),
)
"""Where the chart of the chest ends; the drawing fades out there."""

_SCM_FOSSA: Point = (16.4, 177.0)
_SCM_SIDE: Point = (44.2, 122)

SCM_MEDIAL: tuple[Point, ...] = (
    JAW_CORNER,
    (40.6, 108.0),
    (34.4, 128.0),
    (25.6, 152.0),
    _SCM_FOSSA,
    _COLLAR_START,
)
SCM_LATERAL: tuple[Point, ...] = (
    _SCM_SIDE,
    (43.4, 137.0),
    (42.4, 154.0),
    (41.2, 173.0),
    _COLLAR_SCM,
)
"""Front and back border of the sternocleidomastoid muscle."""

NECK_BORDERS: tuple[Border, ...] = (
    Border(
        (_GN, (0, 122.5), (0, 178.8), (0, round(_NOTCH[1] + 4, 1)), (0, 250.0)),
        straight=True,
    ),
    # outside
    Border(FACE_EDGE, start=JAW_CORNER),
    Border(NECK_EDGE),
    Border((_EDGE_END, _COLLAR_END), straight=True),
    Border(FLOOR),
    # inside
    Border(COLLAR_BONE),
    Border(SCM_MEDIAL),
    Border(SCM_LATERAL),
    Border(((27.8, 104.4), (24, 114), (14, 120.6), (0, 122.5))),
    Border((_SCM_FOSSA, (8.0, 178.4), (0, 178.8))),
    Border((_COLLAR_START, (5.4, 198.6), (0, round(_NOTCH[1] + 4, 1)))),
    Border((_COLLAR_MIDDLE, (21.4, 206.0), (20.2, 228.0), _FLOOR_SIDE)),
)

NECK_SEEDS: dict[Region, Point] = {
    Region.SUBMENTAL: (5, 116),
    Region.NECK: (10, 150),
    Region.STERNOCLEIDOMASTOID: (36, 150),
    Region.LATERAL_CERVICAL: (60, 178),
    Region.JUGULAR_FOSSA: (4, 188),
    Region.PRESTERNAL: (8, 225),
    Region.INFRACLAVICULAR: (60, 215),
}

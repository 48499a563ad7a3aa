"""
Outlines that drawing and regions share, so that a tap can never miss what it sees.

Millimetres, axes as in `measurements`. Front: the patient's left half (x >= 0). Side: the right
side looking to the viewer's right. Points named in `measurements` stand here by name; all others
are LAYOUT, set by eye between them.
"""

from __future__ import annotations

from planning.atlas.geometry import Point
from planning.atlas.measurements import FRONT, PROFILE

NECK_END_Y = 150.0  # where the neck region stops; the drawing fades out below it

# --- front, patient's left half ---

HAIRLINE: tuple[Point, ...] = (
    FRONT["tr"].at,
    (15, -62.2),
    (29, -58.6),
    (41, -51.5),
    (49.5, -42),
    (55, -31.5),
    (59.2, -21),
    (61.2, -9),
    (61.2, 3),
    (62.6, 13),
    (65.9, 18),
)
"""From the midline to the sideburn, where it meets the edge of the face."""

FACE_EDGE: tuple[Point, ...] = (
    (65.9, 18),
    (65.7, 23),
    FRONT["zy"].at,
    (64.4, 43),
    (63.1, 52),
    (60.2, 63.5),
    (55, 77.5),
    FRONT["go"].at,
    (45.6, 90.7),
    (37.8, 97.4),
    (27.8, 104.4),
    (18, 109.2),
    (8.6, 111.1),
    FRONT["gn"].at,
)
"""From the sideburn over zygion and gonion to the chin."""

EAR: tuple[Point, ...] = (
    (65.9, 18),
    (66.2, 9),
    (67.8, 2.2),
    (70.8, -1.2),
    (74.2, -0.8),
    (76.4, 3.6),
    (76.8, 11.5),
    (75.6, 21.5),
    (73.6, 31.5),
    (71.6, 40.5),
    (69.8, 48.6),
    (67.6, 55),
    (64.8, 57.4),
    (63.2, 55.8),
    (63.1, 52),
)
"""Free edge of the ear, seen from in front, from the top of its root to the lobe."""

HEAD: tuple[Point, ...] = (
    (0, -94.4),
    (16, -93),
    (32, -88.6),
    (48, -79.8),
    (61, -66.5),
    (69.6, -49),
    (73.6, -30),
    (73.4, -13),
    (70.8, -1.2),
)
"""Top and side of the head with the hair."""

NECK: tuple[Point, ...] = (
    (45.6, 90.7),
    (44.6, 99),
    (44, 110),
    (44.2, 122),
    (45.2, 133),
    (47.8, 142.5),
    (53.4, NECK_END_Y),
)
"""From the edge of the jaw down to the end of the chart."""

# --- side, looking to the viewer's right ---

FOREHEAD_PROFILE: tuple[Point, ...] = (
    PROFILE["tr"].at,
    (-3.2, -50),
    (0.6, -36),
    (2.6, -23),
    (2.9, -13),
    (1.5, -5.4),
    PROFILE["n"].at,
)

NOSE_PROFILE: tuple[Point, ...] = (
    PROFILE["n"].at,
    (2.4, 5.6),
    (9, 14.5),
    (16.2, 24),
    (22.8, 32.2),
    (27.8, 37.2),
    (31.2, 39.2),
    PROFILE["prn"].at,
    (31.6, 45.2),
    (28.6, 47),
    (23.5, 47.4),
    (17.6, 47.5),
    PROFILE["sn"].at,
)

LIP_PROFILE: tuple[Point, ...] = (
    PROFILE["sn"].at,
    (13.0, 51.4),
    (12.9, 55),
    (13.8, 58.6),
    PROFILE["ls"].at,
    (15.9, 62.7),
    (15.2, 65.6),
    (12.6, 67.8),
    PROFILE["sto"].at,
)

LOWER_LIP_PROFILE: tuple[Point, ...] = (
    PROFILE["sto"].at,
    (11.8, 69.6),
    (13.7, 71.9),
    (13.4, 75),
    PROFILE["li"].at,
    (7.8, 81.6),
    (5.7, 85.4),
)

CORNER: Point = (-7.2, 70)
"""Corner of the mouth in the side view."""

CHIN_PROFILE: tuple[Point, ...] = (
    (5.7, 85.4),
    (5.9, 90),
    (7.4, 95.4),
    (7.9, 100.4),
    (6.4, 105.8),
    (3.6, 109.5),
    PROFILE["gn"].at,
)

SUBMENTAL_PROFILE: tuple[Point, ...] = (
    PROFILE["gn"].at,
    (-8, 113.3),
    (-22, 115.6),
    (-35, 119.2),
    (-43, 124.2),
)

NECK_PROFILE: tuple[Point, ...] = (
    (-43, 124.2),
    (-47, 131.5),
    (-49.6, 140),
    (-52.6, NECK_END_Y),
)

NECK_BACK: tuple[Point, ...] = (
    (-149.5, 76),
    (-144.5, 92),
    (-142, 108),
    (-142.5, 124),
    (-147, 138),
    (-155.5, NECK_END_Y),
)

HEAD_SIDE: tuple[Point, ...] = (
    PROFILE["tr"].at,
    (-15, -72.5),
    (-33, -84.5),
    (-62, -92.8),
    (-96, -94),
    (-132, -86),
    (-163, -66),
    (-183, -36),
    (-189.5, -2),
    (-182, 31),
    (-166, 58),
    (-149.5, 76),
)
"""Hair from trichion over the top to the nape."""

HAIRLINE_SIDE: tuple[Point, ...] = (
    PROFILE["tr"].at,
    (-20, -59.5),
    (-31, -51.5),
    (-38, -41),
    (-42.5, -29),
    (-50, -19.5),
    (-59, -11),
    (-65.5, 0),
    (-69.5, 13),
    (-73, 25),
    (-77.2, 30),
    (-81.4, 28.4),
    (-84.8, 22),
    (-86.8, 15),
    (-88.8, 9.5),
)
"""From trichion over the temple and the sideburn to the root of the ear."""

EAR_SIDE: tuple[Point, ...] = (
    (-88.8, 9.5),
    (-94.5, 5.6),
    (-102, 5),
    (-110, 9),
    (-115.6, 17),
    (-117.6, 27),
    (-115.4, 38),
    (-110, 48),
    (-103.5, 57),
    (-97.5, 63),
    (-92, 63.9),
    (-88.2, 60.2),
    (-86.6, 53.4),
)
"""Free edge of the ear from its upper root to the lobe."""

EAR_ROOT_SIDE: tuple[Point, ...] = (
    (-86.6, 53.4),
    (-85.6, 46.5),
    (-83.6, 40.6),
    (-84.4, 35),
    (-86.4, 29),
    (-87.6, 19),
    (-88.8, 9.5),
)
"""Front of the ear: notch, tragus, crus, back to the upper root."""

NAPE_HAIR: tuple[Point, ...] = (
    (-111, 47),
    (-114.5, 60),
    (-122.5, 72),
    (-134, 80.5),
    (-147.6, 82),
)
"""Lower edge of the hair from behind the ear to the nape."""

JAWLINE_SIDE: tuple[Point, ...] = (
    PROFILE["gn"].at,
    (-13, 110.6),
    (-27, 106.6),
    (-42, 101.8),
    (-57, 96.2),
    (-67.5, 91.8),
    PROFILE["go"].at,
    (-79.6, 81),
    (-83.4, 69),
    (-86.6, 53.4),
)
"""Lower edge of the mandible from the chin over gonion to the ear lobe."""

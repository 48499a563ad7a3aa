"""
Landmarks and vessels drawn over the chart: aids to caution, never a map of this patient.

Arteries vary from head to head; each line is drawn through published mean distances where there are
any (`basis` says which) and otherwise by eye (LAYOUT). No line here is a "safe line". Front: the
patient's left half in millimetres, mirrored by the drawing. Side: the right side.
"""

from __future__ import annotations

from dataclasses import dataclass

from planning.atlas.geometry import Point
from planning.atlas.measurements import FRONT, PROFILE, Mark
from planning.atlas.outlines import CORNER


@dataclass(frozen=True)
class Spot:
    """One landmark. `front` or `side` is None where that view does not show it."""

    key: str
    name: str
    front: Point | None
    side: Point | None
    source: str
    mark: Mark


@dataclass(frozen=True)
class Vessel:
    """One artery as a line on each view."""

    key: str
    name: str
    front: tuple[Point, ...]
    side: tuple[Point, ...]
    source: str
    mark: Mark


_CUTRIGHT = "Cutright 2003, J Oral Maxillofac Surg, 80 heads"
_YANG = "Yang 2014, Plast Reconstr Surg, 60 half faces"

LANDMARKS: tuple[Spot, ...] = (
    Spot(
        "supraorbital_notch",
        "Supraorbital notch",
        (25.0, -3.5),
        (-4.5, -3.2),
        f"25 mm from the midline: {_CUTRIGHT}; height by eye",
        Mark.READ,
    ),
    Spot(
        "infraorbital_foramen",
        "Infraorbital foramen",
        (27.0, 28.0),
        (-12.0, 28.5),
        f"27 mm from the midline, 6.4 mm below the rim: {_CUTRIGHT}; rim drawn at y 21.6",
        Mark.READ,
    ),
    Spot(
        "mental_foramen",
        "Mental foramen",
        (FRONT["ch"].x_mm - 3.3, FRONT["ch"].y_mm + 20.4),
        (-8.5, 90.4),
        "20.4 mm below and 3.3 mm medial to the mouth corner: 50 cadavers",
        Mark.READ,
    ),
    Spot(
        "zygomatic_arch",
        "Zygomatic arch",
        FRONT["zy"].at,
        (-62.0, 31.0),
        "zygion, half of zy-zy; side by eye",
        Mark.LAYOUT,
    ),
    Spot(
        "gonial_angle",
        "Angle of mandible",
        FRONT["go"].at,
        PROFILE["go"].at,
        "gonion, half of go-go; height by eye",
        Mark.LAYOUT,
    ),
    Spot(
        "oral_commissure",
        "Corner of mouth",
        FRONT["ch"].at,
        CORNER,
        "cheilion, half of ch-ch at stomion",
        Mark.MEMORY,
    ),
    Spot(
        "alar_base",
        "Base of nose wing",
        (FRONT["al"].x_mm - 1.2, FRONT["al"].y_mm + 4.4),
        (8.6, 48.4),
        "below alare, by eye",
        Mark.LAYOUT,
    ),
)

# Facial artery in front: 13.5 mm lateral to the mouth corner, 3.2 mm lateral to the ala (Yang), by
# eye below and above. Another series (CT, 150 adults) puts it lateral to the fold in every case.
VESSELS: tuple[Vessel, ...] = (
    Vessel(
        "supratrochlear",
        "Supratrochlear artery",
        ((14.4, -1.5), (14.7, -11), (14.0, -26), (12.6, -42)),
        ((-3.6, -1.5), (-1.6, -11), (-1.6, -26), (-4.6, -42)),
        "14.7 mm from the midline at glabella level: Clin Anat 2020;33:370-382",
        Mark.READ,
    ),
    Vessel(
        "supraorbital",
        "Supraorbital artery",
        ((25.0, -3.5), (25.6, -14), (26.8, -28), (27.4, -44)),
        ((-9, -3.5), (-8.2, -14), (-9.6, -28), (-13.6, -44)),
        f"25 mm from the midline at the rim: {_CUTRIGHT}; upwards by eye",
        Mark.READ,
    ),
    Vessel(
        "facial",
        "Facial artery",
        ((38.2, 97.0), (39.6, 84), (38.6, 68.9), (31.4, 59), (24, 51.6), (18.9, 44.0)),
        ((-41, 101.6), (-35, 88), (-20.4, 70), (-13, 60), (-4, 51.5), (4.4, 45)),
        f"13.5 ± 5.4 mm lateral to the mouth corner, 3.2 ± 4.5 mm lateral to the ala: {_YANG}; "
        "another series (Aesthet Surg J 2021;41:697) puts it lateral to the fold in all",
        Mark.READ,
    ),
    Vessel(
        "angular",
        "Angular artery",
        ((18.9, 44.0), (15.6, 32), (12.6, 20), (13.2, 8), (14.4, -1.5)),
        ((4.4, 45), (2.4, 32), (-2.2, 20), (-5.0, 8), (-3.6, -1.5)),
        "continues the facial artery beside the nose; course by eye, very variable",
        Mark.LAYOUT,
    ),
    Vessel(
        "superior_labial",
        "Superior labial artery",
        ((36.2, 65.0), (28, 64.6), (19, 64.4), (10, 61.8), (0, 62.6)),
        ((-18.6, 67), (-9, 65.2), (0, 63.4), (8, 62), (15.2, 62.4)),
        "starts 12.1 ± 3.1 mm lateral to the mouth corner: Plast Reconstr Surg 2015;135:445; "
        "in the red lip at the midline",
        Mark.READ,
    ),
    Vessel(
        "inferior_labial",
        "Inferior labial artery",
        ((38.9, 77.0), (30, 76.8), (20, 75), (10, 76.4), (0, 76.6)),
        ((-26.6, 78), (-13, 77.4), (-3, 75.4), (6, 76), (12.4, 76.4)),
        "in the red lip at the midline: Aesthet Surg J 2020;40:1327; course by eye",
        Mark.LAYOUT,
    ),
    Vessel(
        "superficial_temporal",
        "Superficial temporal artery",
        ((66.2, 30), (65.2, 12), (63.4, -4), (57, -22), (47, -34)),
        ((-84, 44), (-82.4, 24), (-77, 4), (-64, -18), (-44, -36)),
        "runs up in front of the ear; frontal branch; course by eye",
        Mark.LAYOUT,
    ),
)

"""
Landmarks drawn over the chart, and what a landmark and a vessel are: aids to caution, never a map
of this patient. The vessels themselves stand in `vessels`.

Each is drawn through published mean distances where there are any (its source says which) and
otherwise by eye (LAYOUT). Front and neck: the patient's left half in millimetres, mirrored by the
drawing. Side: the right side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from planning.atlas.geometry import Point, flipped
from planning.atlas.jaw import shaped
from planning.atlas.measurements import FRONT, NECK_FRONT, PROFILE, Mark
from planning.atlas.outlines import CORNER
from planning.vocabulary import Jaw, View


@dataclass(frozen=True)
class Spot:
    """One landmark. A view is None where it does not show it."""

    key: str
    name: str
    front: Point | None
    side: Point | None
    source: str
    mark: Mark
    neck: Point | None = None

    def on(self, view: View) -> Point | None:
        """Its place on a view, as constructed (one half, or the right side)."""
        if view is View.NECK:
            return self.neck
        if view is View.FRONT:
            return self.front
        return self.side if view in _PROFILES else None


@dataclass(frozen=True)
class Ridge:
    """A landmark that is a line of bone. A view without it has no points."""

    key: str
    name: str
    front: tuple[Point, ...]
    side: tuple[Point, ...]
    source: str
    mark: Mark
    closed: bool = False

    def on(self, view: View) -> tuple[Point, ...]:
        if view is View.FRONT:
            return self.front
        return self.side if view in _PROFILES else ()


Line = tuple[Point, ...]


@dataclass(frozen=True)
class Vessel:
    """
    One artery or vein as lines on each view, and how deep it usually lies.

    `depth` is in words, because series disagree and depth changes along the way.
    """

    key: str
    name: str
    front: Line
    side: Line
    source: str
    mark: Mark
    depth: str
    depth_source: str
    depth_mark: Mark
    neck: tuple[Line, ...] = ()
    hands: tuple[Line, ...] = ()

    def on(self, view: View) -> tuple[Line, ...]:
        """Its lines on a view, as constructed (the patient's left half, or the right side)."""
        if view is View.NECK:
            return self.neck
        if view is View.HANDS:
            return self.hands
        line = self.front if view is View.FRONT else self.side if view in _PROFILES else ()
        return (line,) if line else ()


_PROFILES = frozenset({View.RIGHT, View.LEFT})
BOTH_SIDES = frozenset({View.FRONT, View.NECK, View.HANDS})
"""Views that show both sides, constructed as one half and its mirror image."""


def sides_of(view: View, points: Sequence[Point], jaw: Jaw) -> list[list[Point]]:
    """A line as it appears on a view: twice where that shows both sides, mirrored on the left."""
    if view in BOTH_SIDES:
        moved = list(points) if view is View.HANDS else shaped(points, jaw)
        return [moved, flipped(moved)]
    return [flipped(points) if view is View.LEFT else list(points)]


_CUTRIGHT = "Cutright 2003, J Oral Maxillofac Surg, 80 heads"
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
    Spot(
        "laryngeal_prominence",
        "Laryngeal prominence",
        None,
        None,
        "by eye",
        Mark.LAYOUT,
        neck=NECK_FRONT["prominence"].at,
    ),
    Spot(
        "jugular_notch",
        "Jugular notch",
        None,
        None,
        "84 mm below the chin: a drawing choice",
        Mark.LAYOUT,
        neck=NECK_FRONT["jugulare"].at,
    ),
)

RIDGES: tuple[Ridge, ...] = (
    Ridge(
        "orbital_rim",
        "Orbital rim",
        (
            (25.0, -3.5),
            (33.0, -6.4),
            (42.0, -5.0),
            (49.0, 0.6),
            (51.4, 8.4),
            (48.4, 16.0),
            (41.0, 21.6),
            (33.0, 23.2),
            (27.0, 21.6),
            (19.6, 18.0),
            (14.6, 11.6),
            (14.0, 4.4),
            (17.6, -0.8),
        ),
        (
            (-3.6, -2.2),
            (-9.0, -5.6),
            (-18.0, -8.0),
            (-28.0, -6.4),
            (-33.4, 0.0),
            (-33.0, 9.0),
            (-27.6, 16.6),
            (-19.6, 21.0),
            (-12.0, 22.1),
            (-5.0, 18.6),
            (-3.0, 11.0),
        ),
        "through the supraorbital notch and 6.4 mm above the infraorbital foramen "
        f"({_CUTRIGHT}); between them by eye",
        Mark.LAYOUT,
        closed=True,
    ),
    Ridge(
        "temporal_crest",
        "Temporal crest",
        ((51.6, -5.4), (54.6, -12.6), FRONT["ft"].at, (53.9, -31), (49.8, -41)),
        ((-39.0, -7.0), (-41.8, -13.6), (-42.6, -19.6), (-41.4, -30), (-38, -40)),
        "through frontotemporale, half of ft-ft; 26 mm lateral to the supraorbital notch by "
        f"{_CUTRIGHT}, which is 5 mm farther in: the two do not agree",
        Mark.MEMORY,
    ),
    Ridge(
        "zygomatic_arch",
        "Zygomatic arch",
        ((49.0, 30.6), (56.0, 32.4), (62.0, 33.6), FRONT["zy"].at),
        ((-38.0, 31.6), (-48.0, 30.2), (-62.0, 30.0), (-74.0, 31.6), (-83.4, 33.6)),
        "zygion, half of zy-zy; forwards, and on the side, by eye",
        Mark.LAYOUT,
    ),
)

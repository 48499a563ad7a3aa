"""
Width of the jaw: the same face with the distance between the gonia moved by 1.5 standard
deviations (SD).

Narrower is 94.5 - 7.5 = 87.0 mm, broader 94.5 + 7.5 = 102.0 mm from gonion to gonion (mean and SD
in `measurements`; how many SDs is LAYOUT). Everything between zygion and the lower neck follows
smoothly; the mouth, the nose and the chin point keep their place. A side view shows no width, so
it is the same for all three.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from planning.atlas.geometry import Point
from planning.atlas.measurements import FRONT, MEASUREMENTS
from planning.vocabulary import Jaw

SD_STEPS: dict[Jaw, float] = {Jaw.NARROWER: -1.5, Jaw.AVERAGE: 0.0, Jaw.BROADER: 1.5}

_TOP = FRONT["zy"].y_mm
_GONION_X, _GONION_Y = FRONT["go"].at
_BOTTOM = 140.0
_INNER_X = 12.0


def half_change_mm(jaw: Jaw) -> float:
    """How far each gonion moves outwards."""
    return SD_STEPS[jaw] * MEASUREMENTS["go-go"].sd_dmm / 20


def shaped(points: Sequence[Point], jaw: Jaw) -> list[Point]:
    """Front-view points (mm, either side) moved to the chosen jaw."""
    change = half_change_mm(jaw)
    return [(x + math.copysign(1, x) * change * _pull(abs(x), y), y) for x, y in points]


def _pull(x: float, y: float) -> float:
    """Share of the gonion's movement at a place: 1 at gonion, 0 at zygion, chin and midline."""
    if y <= _GONION_Y:
        height = _ease((y - _TOP) / (_GONION_Y - _TOP))
    else:
        height = _ease((_BOTTOM - y) / (_BOTTOM - _GONION_Y))
    return height * _ease((x - _INNER_X) / (_GONION_X - _INNER_X))


def _ease(share: float) -> float:
    """0 below 0, 1 above 1, smooth between."""
    share = min(1.0, max(0.0, share))
    return share * share * (3 - 2 * share)

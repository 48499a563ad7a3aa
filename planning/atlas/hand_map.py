"""
Outline, borders and seeds of the hands view, in millimetres: the patient's left hand, x >= 0.

The hands lie palm down on a table before the injector, fingers towards the injector, so the thumbs
point to the middle. Length, breadth and palm come from `measurements`; the rest is LAYOUT.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from planning.atlas.geometry import Point
from planning.atlas.measurements import HAND
from planning.atlas.partition import Border
from planning.atlas.regions import Region


@dataclass(frozen=True)
class Digit:
    """
    One digit along its middle line. `base` lies on the line between its webs, `tip` at its end;
    `widths` in mm at base, middle joint, end joint and nail; `joints` are shares of the length.
    """

    base: Point
    tip: Point
    widths: tuple[float, float, float, float]
    joints: tuple[float, float] = (0.4, 0.72)

    def at(self, share: float, aside: float = 0.0) -> Point:
        """`share` of the way to the tip, `aside` mm off the middle line (+ away from the thumb)."""
        (x, y), (u, v) = self.base, self._direction
        length = math.dist(self.base, self.tip) * share
        return (round(x + u * length + v * aside, 2), round(y + v * length - u * aside, 2))

    @property
    def _direction(self) -> Point:
        length = math.dist(self.base, self.tip)
        return ((self.tip[0] - self.base[0]) / length, (self.tip[1] - self.base[1]) / length)

    def edge(self) -> tuple[Point, ...]:
        """From the side of the thumb round the tip to the other side."""
        root, middle, end, nail = (width / 2 for width in self.widths)
        near, far = self.joints
        shares = (
            (near * 0.42, (root + middle) / 2 - 0.5),
            (near, middle),
            ((near + far) / 2, (middle + end) / 2 - 0.5),
            (far, end),
            (far + (1 - far) * 0.5, (end + nail) / 2),
            (far + (1 - far) * 0.86, nail * 0.8),
        )
        down = [self.at(share, -aside) for share, aside in shares]
        up = [self.at(share, aside) for share, aside in reversed(shares)]
        return (*down, self.at(1.0), *up)


_TIP, _WEB = HAND["tip"].at, HAND["web"].at
_RADIAL, _ULNAR = HAND["radial"].at, HAND["ulnar"].at

THUMB = Digit((31.0, 64.0), (10.0, 115.0), (22.5, 21.5, 20.0, 16.6), (0.1, 0.53))
INDEX = Digit((55.0, 100.0), (47.5, 164.5), (19.5, 18.6, 16.4, 14.0))
MIDDLE = Digit((76.0, 103.0), _TIP, (19.5, 18.8, 16.6, 14.2))
RING = Digit((96.2, 100.5), (102.6, 169.0), (18.8, 17.8, 15.8, 13.6))
LITTLE = Digit((113.6, 94.0), (124.0, 147.0), (16.8, 15.6, 14.0, 12.2))
DIGITS: tuple[Digit, ...] = (THUMB, INDEX, MIDDLE, RING, LITTLE)

WEB_THUMB: Point = (42.4, 72.4)
WEB_INDEX: Point = (65.6, 101.8)
WEB_RING: Point = (105.2, 99.2)
_THUMB_ROOT: Point = (22.6, 55.0)
_WRIST_IN: Point = (52.2, 4.0)
_WRIST_OUT: Point = (107.6, 4.0)
_ARM_IN: Point = (53.6, -24.0)
_ARM_OUT: Point = (107.0, -24.0)


def _between(web: Point) -> tuple[Point, ...]:
    """The narrow bow of a web, which keeps the two fingers' edges apart."""
    x, y = web
    return ((x - 1.0, y + 3.2), web, (x + 1.0, y + 3.2))


HAND_EDGE: tuple[Point, ...] = (
    _ARM_IN,
    (53.0, -8.0),
    _WRIST_IN,
    (46.6, 15.0),
    (37.2, 28.6),
    (29.0, 41.0),
    _THUMB_ROOT,
    *THUMB.edge()[:-2],
    (39.6, 75.8),
    WEB_THUMB,
    (44.4, 75.0),
    _RADIAL,
    (44.6, 92.0),
    *INDEX.edge(),
    *_between(WEB_INDEX),
    *MIDDLE.edge(),
    *_between(_WEB),
    *RING.edge(),
    *_between(WEB_RING)[:2],
    *LITTLE.edge(),
    (122.4, 93.0),
    _ULNAR,
    (122.4, 66.0),
    (119.0, 43.0),
    (112.6, 20.0),
    _WRIST_OUT,
    (106.0, -8.0),
    _ARM_OUT,
)
"""From the forearm on the thumb's side round all fingers and back."""

_CARPAL: tuple[Point, ...] = (
    _WRIST_IN,
    (60.0, 9.4),
    (70.0, 12.2),
    (80.6, 13.0),
    (91.0, 11.8),
    _WRIST_OUT,
)
"""Where the wrist ends and the back of the hand begins."""

HAND_BORDERS: tuple[Border, ...] = (
    Border(HAND_EDGE),
    Border((_ARM_IN, _ARM_OUT), straight=True),
    Border(_CARPAL),
    # rays
    Border(((60.0, 9.4), (55.6, 30.0), (49.4, 53.0), WEB_THUMB)),
    Border(((70.0, 12.2), (67.4, 44.0), (65.4, 74.0), WEB_INDEX)),
    Border(((80.6, 13.0), (83.4, 44.0), (85.0, 74.0), _WEB)),
    Border(((91.0, 11.8), (98.4, 42.0), (103.0, 72.0), WEB_RING)),
    # digits
    Border((_THUMB_ROOT, (32.0, 62.0), WEB_THUMB)),
    Border(((44.6, 92.0), (55.0, 99.4), WEB_INDEX)),
    Border((WEB_INDEX, (76.0, 105.2), _WEB)),
    Border((_WEB, (95.8, 103.4), WEB_RING)),
    Border((WEB_RING, (113.4, 97.8), (122.4, 93.0))),
)

HAND_SEEDS: dict[Region, Point] = {
    Region.WRIST: (80, -5),
    Region.METACARPAL_1: (44, 40),
    Region.METACARPAL_2: (58, 60),
    Region.METACARPAL_3: (75, 60),
    Region.METACARPAL_4: (93, 60),
    Region.METACARPAL_5: (110, 60),
    Region.DIGIT_1: THUMB.at(0.6),
    Region.DIGIT_2: INDEX.at(0.6),
    Region.DIGIT_3: MIDDLE.at(0.6),
    Region.DIGIT_4: RING.at(0.6),
    Region.DIGIT_5: LITTLE.at(0.6),
}

"""
Border lines of the regions, in millimetres: LAYOUT, led by the neighbours anatomy names.

Front: the patient's left half, x >= 0; the other half is its mirror image. Side: the right side.
Lines meet only in points written identically in both.
"""

from __future__ import annotations

from planning.atlas.geometry import Point
from planning.atlas.measurements import FRONT, PROFILE
from planning.atlas.outlines import (
    CHIN_PROFILE,
    CORNER,
    EAR,
    EAR_ROOT_SIDE,
    EAR_SIDE,
    FACE_EDGE,
    FOREHEAD_PROFILE,
    HAIRLINE,
    HAIRLINE_SIDE,
    HEAD,
    JAWLINE_SIDE,
    LIP_PROFILE,
    LOWER_LIP_PROFILE,
    NECK,
    NECK_END_Y,
    NECK_PROFILE,
    NOSE_PROFILE,
    SUBMENTAL_PROFILE,
)
from planning.atlas.partition import Border
from planning.atlas.regions import Region

_TR, _STO, _CH, _GN = FRONT["tr"].at, FRONT["sto"].at, FRONT["ch"].at, FRONT["gn"].at

FRONT_BORDERS: tuple[Border, ...] = (
    Border(
        (
            _TR,
            (0, -24),
            (0, -2),
            (0, 49.6),
            _STO,
            (0, 86.8),
            _GN,
            (0, 122.5),
            (0, NECK_END_Y),
            (53.4, NECK_END_Y),
        ),
        straight=True,
    ),
    # outside
    Border(HAIRLINE, end=(49.5, -42)),
    Border(((49.5, -42), (59, -46), (69.6, -49))),
    Border(HEAD, start=(69.6, -49)),
    Border(EAR),
    Border(FACE_EDGE),
    Border(NECK),
    # forehead, temple, brow
    Border(((49.5, -42), (53.6, -31), FRONT["ft"].at, (57.2, -14.5), (57.8, -9.4))),
    Border(
        (
            (12, -13.6),
            (20, -16.4),
            (29.5, -19),
            (38.5, -20.6),
            (45.5, -20.4),
            (52, -17),
            (57.8, -9.4),
        )
    ),
    Border(
        (
            (11.4, -3.6),
            (19.6, -6.2),
            (29.5, -8.8),
            (38, -10.6),
            (44.6, -11.4),
            (51, -11),
            (57.8, -9.4),
        )
    ),
    Border(
        (
            (0, -24),
            (6.4, -23.2),
            (10.6, -19.4),
            (12, -13.6),
            (12.2, -8.6),
            (11.4, -3.6),
            (6.4, -2.2),
            (0, -2),
        )
    ),
    # eye
    Border(((51, -11), (48, -4), (46.8, 3), (46.2, 9.4), (44.4, 15.2))),
    Border(((57.8, -9.4), (59.4, -1), (59.6, 8), (57.2, 16.6))),
    Border(((57.2, 16.6), (51, 17.4), (44.4, 15.2))),
    Border(((10.6, 12.4), (15, 14.6), (21, 17.8), (28, 19.4), (36, 18.6), (44.4, 15.2))),
    # nose and fold
    Border(
        (
            (11.4, -3.6),
            (9.9, 4),
            (10.6, 12.4),
            (11.6, 21),
            (14, 31),
            (17.2, 38.4),
            (18, 43.4),
            (17, 47.6),
            (13.4, 50.5),
            (7.4, 50.4),
            (0, 49.6),
        )
    ),
    Border(((17.2, 38.4), (21, 41.2), (26, 42.2), (33.6, 40.4))),
    Border(((26, 42.2), (29.6, 50), (32.8, 58.6), (34.2, 66.4))),
    Border(((17, 47.6), (19.4, 53.4), (23, 59.6), (27.4, 65))),
    # cheek
    Border(((44.4, 15.2), (42.4, 24), (38.6, 33.2), (33.6, 40.4))),
    Border(((57.2, 16.6), (61.4, 20.6), (65.7, 23))),
    Border(((33.6, 40.4), (42, 44.8), (50, 46.2), (57.4, 45), (64.4, 43))),
    Border(((50, 46.2), (45.4, 58), (41.8, 71), (39.2, 84), (37.8, 97.4))),
    Border(((39.2, 84), (35.2, 83.4), (31.4, 81.4))),
    # mouth and chin
    Border((_STO, (3.4, 68.7), (7.4, 67.7), (12.4, 67.8), (18, 68.5), (22, 68.5), _CH)),
    Border(((34.2, 66.4), (31, 65.2), (27.4, 65), (26.2, 67), _CH)),
    Border((_CH, (23, 74.6), (19, 82.6), (12, 86), (0, 86.8))),
    Border(((34.2, 66.4), (34, 74), (31.4, 81.4), (27.4, 87.4), (21.6, 89.2), (19, 82.6))),
    Border(((21.6, 89.2), (20.6, 98.6), (18, 109.2))),
    Border(((27.8, 104.4), (24, 114), (14, 120.6), (0, 122.5))),
)

FRONT_SEEDS: dict[Region, Point] = {
    Region.FOREHEAD: (20, -40),
    Region.GLABELLA: (5, -12),
    Region.TEMPLE: (64, -10),
    Region.BROW: (35, -14),
    Region.ORBITAL: (30, 8),
    Region.LATERAL_CANTHAL: (53, 5),
    Region.INFRAORBITAL: (28, 30),
    Region.ZYGOMATIC: (52, 32),
    Region.NASAL: (5, 30),
    Region.NASOLABIAL: (24, 54),
    Region.UPPER_LIP: (10, 60),
    Region.LOWER_LIP: (10, 75),
    Region.ORAL_COMMISSURE: (28, 74),
    Region.BUCCAL: (38, 62),
    Region.PAROTID_MASSETERIC: (50, 70),
    Region.MENTAL: (8, 100),
    Region.PREJOWL: (29, 95),
    Region.SUBMENTAL: (5, 116),
    Region.NECK: (20, 135),
    Region.EAR: (70, 25),
}

SIDE_BORDERS: tuple[Border, ...] = (
    # outside
    Border(FOREHEAD_PROFILE),
    Border(NOSE_PROFILE),
    Border(LIP_PROFILE),
    Border(LOWER_LIP_PROFILE),
    Border(CHIN_PROFILE),
    Border(SUBMENTAL_PROFILE),
    Border(NECK_PROFILE),
    Border(
        ((-52.6, NECK_END_Y), (-112, NECK_END_Y), (-108, 112), (-103.6, 84), (-97.5, 63)),
        straight=True,
    ),
    Border(EAR_SIDE),
    Border(EAR_ROOT_SIDE),
    Border(HAIRLINE_SIDE, end=(-38, -41)),
    Border(((-38, -41), (-52, -49), (-70, -44), (-84, -29), (-91, -10), (-88.8, 9.5))),
    # forehead, temple, brow
    Border(((-38, -41), (-41.4, -30), (-42.6, -19.6), (-41.5, -8.6))),
    Border(
        (
            (-5, -14.6),
            (-9, -17.8),
            (-15, -20),
            (-22.5, -20.8),
            (-30.6, -18.8),
            (-37, -14.6),
            (-41.5, -8.6),
        )
    ),
    Border(
        (
            (-5, -5.4),
            (-9, -7.6),
            (-15, -10),
            (-22.5, -11.2),
            (-30, -11),
            (-36, -10.2),
            (-41.5, -8.6),
        )
    ),
    Border(
        (
            (2.6, -23),
            (-2.8, -20.8),
            (-5, -14.6),
            (-5.6, -10),
            (-5, -5.4),
            (-2.6, -1.8),
            PROFILE["n"].at,
        )
    ),
    # eye
    Border(((-30, -11), (-32.4, -4), (-33.6, 3), (-34, 9.4), (-34, 14.4))),
    Border(((-41.5, -8.6), (-45, 0), (-46, 8), (-44, 16.6))),
    Border(((-44, 16.6), (-39.4, 16.8), (-34, 14.4))),
    Border(((-4, 12.6), (-9, 16), (-15, 18.4), (-22, 19), (-28, 17.8), (-34, 14.4))),
    # nose and fold
    Border(
        (
            (-2.6, -1.8),
            (-3.6, 5),
            (-4, 12.6),
            (-1.4, 22),
            (2.6, 31),
            (6, 38),
            (5.8, 44.6),
            (8, 48.8),
            (11, 49.6),
            PROFILE["sn"].at,
        )
    ),
    Border(((6, 38), (0.6, 40.8), (-6, 42), (-13, 41.8), (-20.6, 40))),
    Border(((-6, 42), (-11, 50), (-15, 58), (-16.8, 66.4))),
    Border(((5.8, 44.6), (2.2, 51), (-3, 58.6), (-9.2, 65))),
    # cheek
    Border(((-34, 14.4), (-31.4, 23.6), (-27, 32.4), (-20.6, 40))),
    Border(((-44, 16.6), (-54, 20.6), (-66, 22.6), (-78, 22), (-87.6, 19))),
    Border(((-20.6, 40), (-31, 44.8), (-40, 46.4), (-54, 44.6), (-70, 42), (-83.6, 40.6))),
    Border(((-40, 46.4), (-41.6, 58), (-42, 72), (-42, 85), (-42, 101.8))),
    Border(((-42, 85), (-28, 84.8), (-15.6, 82))),
    Border(JAWLINE_SIDE),
    # mouth and chin
    Border((PROFILE["sto"].at, (4.6, 68.2), (0, 68.6), (-3.6, 69.6), CORNER)),
    Border(((-16.8, 66.4), (-13, 65), (-9.2, 65), (-8.4, 67.4), CORNER)),
    Border((CORNER, (-4.8, 76.6), (-2, 83), (2, 85.4), (5.7, 85.4))),
    Border(((-16.8, 66.4), (-17.4, 74), (-15.6, 82), (-11, 87.6), (-4.8, 89.2), (-2, 83))),
    Border(((-4.8, 89.2), (-7, 99), (-13, 110.6))),
    Border(((-42, 101.8), (-44.4, 113), (-43, 124.2))),
)

SIDE_SEEDS: dict[Region, Point] = {
    Region.FOREHEAD: (-15, -40),
    Region.GLABELLA: (0, -10),
    Region.TEMPLE: (-62, -5),
    Region.BROW: (-20, -15),
    Region.ORBITAL: (-18, 8),
    Region.LATERAL_CANTHAL: (-39, 5),
    Region.INFRAORBITAL: (-15, 30),
    Region.ZYGOMATIC: (-55, 32),
    Region.NASAL: (12, 32),
    Region.NASOLABIAL: (-6, 54),
    Region.UPPER_LIP: (5, 58),
    Region.LOWER_LIP: (5, 76),
    Region.ORAL_COMMISSURE: (-12, 74),
    Region.BUCCAL: (-30, 62),
    Region.PAROTID_MASSETERIC: (-62, 70),
    Region.MENTAL: (0, 100),
    Region.PREJOWL: (-25, 95),
    Region.SUBMENTAL: (-30, 112),
    Region.NECK: (-75, 120),
    Region.EAR: (-100, 30),
}

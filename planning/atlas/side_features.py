"""
Ear, nose, mouth, eye and brow of the side view, in millimetres, looking to the viewer's right.

Named landmarks come from `measurements`; every other number is LAYOUT, set by eye.
"""

from __future__ import annotations

from planning.atlas import ink
from planning.atlas.geometry import Point, along, path
from planning.atlas.measurements import PROFILE
from planning.atlas.outlines import CORNER, EAR_ROOT_SIDE, EAR_SIDE, LIP_PROFILE, LOWER_LIP_PROFILE


def ear(prefix: str) -> str:
    rim = (
        (-87.8, 33),
        (-88.2, 24),
        (-91.5, 15.4),
        (-97.5, 10.4),
        (-104, 10.6),
        (-109.6, 16.4),
        (-111.8, 26),
        (-110, 36),
        (-105.6, 44.6),
    )
    inner = (
        (-97.6, 17.4),
        (-102.4, 18.6),
        (-105.4, 25),
        (-104.8, 33),
        (-101, 41.4),
        (-97, 47.4),
        (-92.8, 48.6),
        (-90.6, 45.4),
    )
    return "".join(
        (
            ink.fill([*EAR_SIDE, *EAR_ROOT_SIDE[1:-1]], ink.SKIN, "atlas-skin"),
            ink.glow((-95, 37), (8, 11), f"{prefix}-shade", turn=16, opacity=1),
            ink.glow((-99, 21), (7, 7), f"{prefix}-shade", opacity=0.6),
            ink.glow((-107, 31), (5, 14), f"{prefix}-light", turn=12, opacity=0.6),
            ink.pen(EAR_SIDE, (0.3, 0.65, 0.75, 0.7, 0.7, 0.7, 0.3)),
            ink.pen(rim, (0.2, 0.55, 0.6, 0.6, 0.55, 0.3, 0.05), opacity=0.8),
            ink.pen(inner, (0.05, 0.5, 0.6, 0.55, 0.65, 0.6, 0.25), opacity=0.75),
            ink.pen(
                ((-98.6, 27.4), (-94.8, 29.4), (-91.4, 32.4), (-89, 33.6)),
                (0.05, 0.45, 0.5, 0.2),
                opacity=0.6,
            ),
            ink.pen(
                ((-86.6, 29.6), (-85.0, 34.6), (-84.6, 38.4), (-86.6, 42), (-89.6, 44.4)),
                (0.15, 0.6, 0.8, 0.7, 0.3),
                opacity=0.85,
            ),
        )
    )


def nose_and_cheek(prefix: str) -> str:
    shade = f"{prefix}-shade"
    return "".join(
        (
            ink.glow((0, 20), (8, 20), shade, turn=-16, opacity=0.3),
            ink.glow((9, 46), (9, 6), shade, turn=8, opacity=0.35),
            ink.glow((24, 38), (6, 5), f"{prefix}-light", opacity=0.9),
            ink.pen(
                (
                    (18.6, 35.4),
                    (14.6, 36),
                    (10.6, 38.6),
                    (8.2, 42.2),
                    (8.0, 45.8),
                    (10, 48.5),
                    (12.6, 48.7),
                ),
                (0.05, 0.3, 0.55, 0.7, 0.75, 0.65, 0.1),
                opacity=0.8,
            ),
            ink.fill(
                ((14.6, 47.4), (17, 45.9), (20.4, 44.9), (23.6, 44.9), (22, 46.2), (18.4, 47.1)),
                ink.LINE,
                "atlas-nostril",
                opacity=0.68,
            ),
            ink.pen(((23.2, 34.6), (22, 38), (23.2, 42)), (0.05, 0.3, 0.05), opacity=0.3),
            ink.pen(((3.6, 47.4), (-1.4, 51.4), (-6.4, 57.6)), (0.05, 0.36, 0.05), opacity=0.28),
            ink.pen(((-7.6, 68.8), (-9, 70.2), (-9.2, 72.2)), (0.35, 0.4, 0.05), opacity=0.6),
        )
    )


def mouth(prefix: str) -> str:
    upper = ((14.8, 60.2), (9.6, 61.2), (3, 64.2), (-2.8, 67.6), CORNER)
    middle = (PROFILE["sto"].at, (4.6, 68.2), (0, 68.6), (-3.6, 69.6), CORNER)
    lower = ((11.2, 78.3), (5.6, 77.4), (0, 74.6), (-4, 71.8), CORNER)
    upper_shape = path(LIP_PROFILE[4:]) + "L" + path(middle)[1:] + "L" + path(upper[::-1])[1:] + "Z"
    lower_shape = (
        path(LOWER_LIP_PROFILE[:5]) + "L" + path(lower)[1:] + "L" + path(middle[::-1])[1:] + "Z"
    )
    return "".join(
        (
            ink.glow((2, 83), (9, 4.6), f"{prefix}-shade", opacity=0.6),
            ink.fill_path(upper_shape, f"url(#{prefix}-lip-upper)", "atlas-lip"),
            ink.fill_path(lower_shape, f"url(#{prefix}-lip-lower)", "atlas-lip"),
            ink.glow((8.6, 73.4), (4, 2.4), f"{prefix}-light", turn=-16, opacity=0.6),
            ink.pen(upper, (0.3, 0.4, 0.35, 0.15), opacity=0.6),
            ink.pen(lower, (0.5, 0.4, 0.25, 0.1), opacity=0.5),
            ink.pen(middle, (0.8, 0.7, 0.6, 0.55, 0.4), opacity=0.9),
            ink.glow((-8, 70.2), (3, 3.2), f"{prefix}-shade", opacity=0.55),
            ink.pen(((10, 51.4), (9.6, 55), (10.6, 58.8)), (0.05, 0.28, 0.05), opacity=0.3),
        )
    )


def eye(prefix: str) -> str:
    lid = ((-30.4, 8.6), (-26, 6.6), (-21.4, 4.6), (-17.2, 3.7), (-13.9, 4.6))
    lower = ((-30.4, 8.6), (-26.4, 11.2), (-21.6, 13), (-17.8, 13.7), (-15.6, 13.4))
    ball = ((-13.9, 4.6), (-13.1, 7), (-13.2, 9.8), (-15.6, 13.4))
    shadow = [(-31, 8), *lid[1:], (-14, 6.6), (-18, 6), (-24, 7.6)]
    opening = path(lid) + "L" + path(ball)[1:] + "L" + path(lower[::-1])[1:] + "Z"
    return "".join(
        (
            ink.glow((-8, 1.5), (8, 13), f"{prefix}-shade", turn=-14, opacity=0.5),
            ink.glow((-22, -2.4), (15, 6), f"{prefix}-shade", turn=6, opacity=0.34),
            ink.glow((-21, 18), (14, 5), f"{prefix}-shade", turn=6, opacity=0.24),
            f'<clipPath id="{prefix}-lids"><path d="{opening}"/></clipPath>',
            f'<path class="atlas-white" d="{opening}" fill="{ink.WHITE}"/>',
            f'<g clip-path="url(#{prefix}-lids)">',
            ink.glow((-28, 8.4), (6, 4.4), f"{prefix}-shade", opacity=0.55),
            f'<ellipse class="atlas-iris" cx="-15.5" cy="8.3" rx="2.5" ry="5.6" fill="{ink.IRIS}" '
            f'stroke="{ink.LINE}" stroke-width="0.4"/>',
            f'<ellipse class="atlas-pupil" cx="-14.7" cy="8.3" rx="0.9" ry="2.2" '
            f'fill="{ink.PUPIL}"/>',
            f'<path class="atlas-lid-shadow" d="{path(shadow, closed=True)}" '
            f'fill="{ink.LINE}" fill-opacity="0.2"/>',
            '<circle class="atlas-spark" cx="-15.2" cy="5.9" r="0.7" fill="#ffffff"/>',
            "</g>",
            ink.pen(((-33, 9.4), *lid, (-12.9, 5.6)), (0.1, 0.7, 1.0, 1.15, 1.2, 0.5)),
            ink.pen(
                ((-13.2, 4.9), (-12.8, 7.2), (-13.1, 9.9), (-15.4, 13.2)),
                (0.2, 0.4, 0.4, 0.3),
                opacity=0.8,
            ),
            ink.pen(lower, (0.25, 0.4, 0.5, 0.55, 0.45), opacity=0.75),
            ink.pen(((-14.2, 4.5), (-11.2, 3.6), (-9, 1.6)), (0.7, 0.4, 0.05)),
            ink.pen(((-15.6, 4.2), (-13, 2.9), (-11.2, 1.0)), (0.6, 0.35, 0.05)),
            ink.pen(
                ((-33, 6.4), (-27.4, 2.2), (-21, 0), (-15, 0), (-12.2, 1.2)),
                (0.05, 0.5, 0.65, 0.6, 0.1),
                opacity=0.7,
            ),
            ink.pen(((-27, 17.2), (-22, 18.2), (-17, 17.2)), (0.05, 0.36, 0.05), opacity=0.35),
        )
    )


def brow() -> str:
    upper: tuple[Point, ...] = (
        (-2.4, -12.4),
        (-8, -15.2),
        (-15, -17.2),
        (-22.5, -17.8),
        (-30, -15.8),
        (-38.4, -10),
    )
    lower: tuple[Point, ...] = (
        (-2.2, -7.4),
        (-8, -9.8),
        (-15, -12.2),
        (-22.5, -13.4),
        (-30, -12.8),
        (-38.4, -10),
    )
    parts = [ink.fill([*upper[1:], *lower[-2:0:-1]], ink.HAIR_DARK, "atlas-brow", opacity=0.3)]
    for index in range(28):
        share = index / 27
        low, high = (
            along(lower, share * 0.94),
            along(upper, min(1.0, share * 0.94 + 0.02 + 0.12 * share)),
        )
        middle = ((low[0] + high[0]) / 2 - 0.2 - 0.4 * share, (low[1] + high[1]) / 2 - 0.3 * share)
        parts.append(
            ink.pen(
                (low, middle, (high[0] - 0.6 - 1.4 * share, high[1] + 0.5)),
                (0.12, 0.5, 0.06),
                colour=ink.HAIR_DARK,
                name="atlas-brow-hair",
                opacity=0.4 + 0.35 * min(1.0, share * 3),
                step_mm=1.6,
            )
        )
    return "".join(parts)

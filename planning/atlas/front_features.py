"""
Eye, brow, nose and mouth of the front view: the patient's left half, in millimetres.

Named landmarks come from `measurements`; every other number is LAYOUT, set by eye.
"""

from __future__ import annotations

from planning.atlas import ink
from planning.atlas.geometry import Point, along, flipped, number, path
from planning.atlas.measurements import FRONT

EN, EX, PUPIL = FRONT["en"].at, FRONT["ex"].at, FRONT["pupil"].at
CH = FRONT["ch"].at

UPPER_LID: tuple[Point, ...] = (
    EN,
    (17.6, 7.8),
    (21.6, 4.9),
    (26.4, 3.3),
    (31, 3.1),
    (35.6, 3.9),
    (40.4, 5.9),
    EX,
)
LOWER_LID: tuple[Point, ...] = (
    EX,
    (41.2, 10.2),
    (37.4, 12.7),
    (31.6, 14.0),
    (26.4, 13.5),
    (21.4, 11.8),
    (18.2, 10.7),
    EN,
)
LID_SHADOW: tuple[Point, ...] = (
    (14, 8),
    *UPPER_LID[1:-1],
    (46, 8),
    (40, 8.2),
    (35, 6),
    (30.5, 5.2),
    (25.5, 5.5),
    (20, 7.4),
)
LID_CREASE: tuple[Point, ...] = (
    (16.2, 5.4),
    (19.6, 1.8),
    (25, -0.7),
    (31, -1.2),
    (37, 0.0),
    (42, 2.6),
    (46.2, 6.0),
)
BROW_UPPER: tuple[Point, ...] = (
    (12.6, -11.0),
    (20, -13.4),
    (29.5, -15.8),
    (38.5, -17.5),
    (45, -17.4),
    (51, -14.6),
    (56.4, -9.4),
)
BROW_LOWER: tuple[Point, ...] = (
    (12.2, -5.6),
    (19.6, -7.8),
    (29.5, -10.6),
    (38, -12.8),
    (44.6, -13.7),
    (50.8, -12.6),
    (56.4, -9.4),
)

UPPER_LIP_EDGE: tuple[Point, ...] = (
    FRONT["ls"].at,
    (2.6, 59.3),
    (5.9, 58.5),
    (9.2, 59.5),
    (14.2, 62.4),
    (19.8, 65.7),
    CH,
)
MOUTH_LINE: tuple[Point, ...] = (
    FRONT["sto"].at,
    (3.4, 68.7),
    (7.4, 67.7),
    (12.4, 67.8),
    (18, 68.5),
    (22, 68.5),
    CH,
)
LOWER_LIP_EDGE: tuple[Point, ...] = (
    FRONT["li"].at,
    (6.2, 78.0),
    (12.2, 76.2),
    (17.6, 73.4),
    (21.8, 70.9),
    CH,
)


def whole(half: tuple[Point, ...]) -> list[Point]:
    """A curve that starts on the midline, continued to the other side."""
    return flipped(half[:0:-1]) + list(half)


def eye(prefix: str) -> str:
    """One eye with its brow; the caller mirrors it."""
    opening = path([*UPPER_LID[:-1], *LOWER_LID[:-1]], closed=True)
    x, y = number(PUPIL[0]), number(PUPIL[1])
    return "".join(
        (
            ink.glow((17.5, 3), (8, 13), f"{prefix}-shade", opacity=0.5, turn=18),
            ink.glow((31, -3), (20, 6.5), f"{prefix}-shade", opacity=0.34, turn=-4),
            ink.glow((30, 18), (17, 5.5), f"{prefix}-shade", opacity=0.22, turn=-3),
            ink.glow((44, -2), (10, 9), f"{prefix}-shade", opacity=0.2),
            f'<clipPath id="{prefix}-lids"><path d="{opening}"/></clipPath>',
            f'<path class="atlas-white" d="{opening}" fill="{ink.WHITE}"/>',
            f'<g clip-path="url(#{prefix}-lids)">',
            ink.glow((16.8, 9.4), (3, 2.2), f"{prefix}-lip", opacity=0.9),
            ink.glow((42.5, 7.6), (6, 5), f"{prefix}-shade", opacity=0.4),
            f'<circle class="atlas-iris" cx="{x}" cy="{y}" r="5.85" fill="{ink.IRIS}" '
            f'stroke="{ink.LINE}" stroke-width="0.45"/>',
            ink.glow(PUPIL, (5.6, 5.6), f"{prefix}-iris"),
            _iris_rays(),
            f'<circle class="atlas-pupil" cx="{x}" cy="{y}" r="2.15" fill="{ink.PUPIL}"/>',
            f'<path class="atlas-lid-shadow" d="{path(LID_SHADOW, closed=True)}" '
            f'fill="{ink.LINE}" fill-opacity="0.2"/>',
            '<circle class="atlas-spark" cx="30.85" cy="5.7" r="0.95" fill="#ffffff"/>',
            "</g>",
            ink.pen(UPPER_LID, (0.35, 0.9, 1.25, 1.35, 1.4, 1.3, 0.8)),
            ink.pen(((40.6, 6.1), EX, (46, 7.4)), (0.9, 0.7, 0.1)),
            ink.pen(LOWER_LID, (0.5, 0.55, 0.42, 0.34, 0.3, 0.3), opacity=0.75),
            ink.pen(LID_CREASE, (0.1, 0.55, 0.7, 0.6, 0.5, 0.1), opacity=0.7),
            ink.pen(
                ((18.5, 14.8), (23, 17.4), (29, 18.6), (34, 18.2)),
                (0.08, 0.4, 0.3, 0.05),
                opacity=0.35,
            ),
            _lashes(),
            brow(),
        )
    )


def _iris_rays() -> str:
    """Fine spokes that give the iris its depth."""
    x, y = PUPIL
    spokes = (
        (0.0, -1.0),
        (0.5, -0.87),
        (0.87, -0.5),
        (1.0, 0.0),
        (0.87, 0.5),
        (0.5, 0.87),
        (0.0, 1.0),
    )
    both = [*spokes, *((-a, b) for a, b in spokes[1:-1])]
    return "".join(
        ink.line(
            ((x + a * 2.6, y + b * 2.6), (x + a * 5, y + b * 5)),
            0.25,
            name="atlas-ray",
            opacity=0.3,
        )
        for a, b in both
    )


def _lashes() -> str:
    roots = ((37.4, 4.4), (39.2, 5.2), (40.9, 6.0), (42.5, 6.9))
    return "".join(
        ink.pen(
            ((x, y), (x + 1.2 + n * 0.2, y - 0.6), (x + 2.0 + n * 0.3, y - 1.25)),
            (0.6, 0.35, 0.05),
            step_mm=0.8,
        )
        for n, (x, y) in enumerate(roots)
    )


def brow() -> str:
    """Soft ground with hairs: upright near the nose, lying down towards the temple."""
    ground = [(15, -8.4), *BROW_UPPER[1:], *BROW_LOWER[-2:0:-1]]
    parts = [ink.fill(ground, ink.HAIR_DARK, "atlas-brow", opacity=0.3)]
    steps = 34
    for index in range(steps):
        share = index / (steps - 1)
        low = along(BROW_LOWER, share * 0.94)
        high = along(BROW_UPPER, min(1.0, share * 0.94 + 0.02 + 0.12 * share))
        wobble = ((index * 5) % 7 - 3) * 0.09
        low = (low[0] + wobble, low[1] - 0.5 + 0.5 * share + wobble)
        middle = ((low[0] + high[0]) / 2 + 0.2 + 0.5 * share, (low[1] + high[1]) / 2 - 0.3 * share)
        parts.append(
            ink.pen(
                (low, middle, (high[0] + 0.6 + 1.6 * share, high[1] + 0.5 - wobble)),
                (0.12, 0.5, 0.06),
                colour=ink.HAIR_DARK,
                name="atlas-brow-hair",
                opacity=0.4 + 0.35 * min(1.0, share * 3),
                step_mm=1.6,
            )
        )
    return "".join(parts)


def nose_half(prefix: str) -> str:
    """Ala, nostril and the shading of one side; the caller mirrors it."""
    al_x, al_y = FRONT["al"].at
    return "".join(
        (
            ink.glow((10.5, 14), (5, 26), f"{prefix}-shade", opacity=0.34, turn=-5),
            ink.glow((13.2, 35), (6, 9), f"{prefix}-shade", opacity=0.3, turn=-24),
            ink.glow((9.2, 40), (3.2, 4.6), f"{prefix}-shade", opacity=0.3, turn=20),
            ink.glow((8, 49.6), (9, 2.8), f"{prefix}-shade", opacity=0.5),
            ink.pen(
                (
                    (9.9, 36.6),
                    (13.2, 38.3),
                    (15.3, 41.2),
                    (al_x, al_y),
                    (15.1, 46.9),
                    (13, 48.9),
                    (10.9, 48.7),
                ),
                (0.03, 0.12, 0.4, 0.6, 0.75, 0.7, 0.2),
                opacity=0.8,
            ),
            ink.fill(
                (
                    (3.7, 47.9),
                    (5.4, 46.3),
                    (8.4, 45.5),
                    (10.9, 46.3),
                    (11.4, 47.7),
                    (9.2, 48.1),
                    (6, 48.3),
                ),
                ink.LINE,
                "atlas-nostril",
                opacity=0.68,
            ),
            ink.pen(
                ((9.5, -5.5), (7.6, 0), (6.6, 6), (6.4, 12)), (0.05, 0.4, 0.3, 0.05), opacity=0.32
            ),
            ink.pen(((7.8, 37.2), (8.9, 39.6), (8.9, 42.4)), (0.05, 0.38, 0.05), opacity=0.3),
        )
    )


def nose_midline(prefix: str) -> str:
    return "".join(
        (
            ink.glow((0, 18), (3.6, 20), f"{prefix}-light", opacity=0.8),
            ink.glow((0, 40.4), (4.4, 4.2), f"{prefix}-light", opacity=0.95),
            ink.glow((0, 47.2), (6, 2.4), f"{prefix}-shade", opacity=0.5),
            ink.pen(
                ((-4.6, 47.4), (-2.6, 48.4), (0, 49), (2.6, 48.4), (4.6, 47.4)),
                (0.15, 0.45, 0.55, 0.45, 0.15),
                opacity=0.75,
            ),
        )
    )


def mouth(prefix: str) -> str:
    """Both lips, philtrum and the shadow under the lower lip."""
    upper, middle, lower = whole(UPPER_LIP_EDGE), whole(MOUTH_LINE), whole(LOWER_LIP_EDGE)
    upper_shape = path(upper) + "L" + path(middle[::-1])[1:] + "Z"
    lower_shape = path(middle) + "L" + path(lower[::-1])[1:] + "Z"
    return "".join(
        (
            ink.glow((0, 54.4), (2.4, 5), f"{prefix}-shade", opacity=0.45),
            ink.pen(((3.2, 50.6), (4.4, 54.4), (5.6, 57.8)), (0.05, 0.3, 0.1), opacity=0.3),
            ink.pen(((-3.2, 50.6), (-4.4, 54.4), (-5.6, 57.8)), (0.05, 0.3, 0.1), opacity=0.3),
            ink.glow((0, 83.4), (15, 5.2), f"{prefix}-shade", opacity=0.62),
            ink.fill_path(upper_shape, f"url(#{prefix}-lip-upper)", "atlas-lip"),
            ink.fill_path(lower_shape, f"url(#{prefix}-lip-lower)", "atlas-lip"),
            ink.glow((0, 74), (9.5, 2.6), f"{prefix}-light", opacity=0.6),
            ink.glow((0, 65.6), (3.4, 2), f"{prefix}-light", opacity=0.3),
            ink.pen(upper, (0.2, 0.5, 0.38, 0.5, 0.38, 0.5, 0.2), opacity=0.6),
            ink.pen(lower, (0.1, 0.25, 0.5, 0.6, 0.5, 0.25, 0.1), opacity=0.5),
            ink.pen(middle, (0.5, 0.75, 0.55, 0.85, 0.55, 0.75, 0.5), opacity=0.9),
            ink.glow((26, 69.4), (3, 3.2), f"{prefix}-shade", opacity=0.55),
            ink.glow((-26, 69.4), (3, 3.2), f"{prefix}-shade", opacity=0.55),
        )
    )

"""
The side view of the face as SVG text (millimetres), looking to the viewer's right.

Named landmarks come from `measurements`; every other number is LAYOUT, set by eye.
"""

from __future__ import annotations

from planning.atlas import ink, side_features
from planning.atlas.geometry import Point, along, path
from planning.atlas.outlines import (
    CHIN_PROFILE,
    FOREHEAD_PROFILE,
    HAIRLINE_SIDE,
    HEAD_SIDE,
    JAWLINE_SIDE,
    LIP_PROFILE,
    LOWER_LIP_PROFILE,
    NAPE_HAIR,
    NECK_BACK,
    NECK_PROFILE,
    NOSE_PROFILE,
    SUBMENTAL_PROFILE,
)

_SHOULDERS: tuple[tuple[Point, ...], ...] = (
    ((-52.6, 150), (-53.6, 155), (-52.5, 160)),
    ((-155.5, 150), (-164, 156), (-176, 161)),
)


def side(prefix: str) -> str:
    """Definitions and drawing of the right side; `prefix` starts every id."""
    return "".join(
        (
            _definitions(prefix),
            ink.fill_path(_skin(), f"url(#{prefix}-skin)", "atlas-skin"),
            f'<g clip-path="url(#{prefix}-face)">{_planes(prefix)}</g>',
            _hair(prefix),
            _neck_lines(),
            side_features.ear(prefix),
            f'<g clip-path="url(#{prefix}-face)">',
            side_features.nose_and_cheek(prefix),
            side_features.mouth(prefix),
            "</g>",
            side_features.eye(prefix),
            side_features.brow(),
            _edges(),
        )
    )


def _profile() -> list[Point]:
    parts = (
        FOREHEAD_PROFILE,
        NOSE_PROFILE,
        LIP_PROFILE,
        LOWER_LIP_PROFILE,
        CHIN_PROFILE,
        SUBMENTAL_PROFILE,
        NECK_PROFILE,
    )
    return [point for part in parts for point in part[:-1]] + [NECK_PROFILE[-1]]


def _skin() -> str:
    front = [
        FOREHEAD_PROFILE,
        NOSE_PROFILE,
        LIP_PROFILE,
        LOWER_LIP_PROFILE,
        CHIN_PROFILE,
        SUBMENTAL_PROFILE,
        [*NECK_PROFILE, *_SHOULDERS[0][1:]],
    ]
    back = [[*_SHOULDERS[1][::-1], *NECK_BACK[-2::-1]], HEAD_SIDE[::-1]]
    return "M" + "L".join(path(part)[1:] for part in [*front, *back]) + "Z"


def _definitions(prefix: str) -> str:
    return "".join(
        (
            "<defs>",
            ink.fading(f"{prefix}-shade", ink.SHADE, "atlas-shade", 0.62),
            ink.fading(f"{prefix}-light", ink.LIGHT, "atlas-light", 0.95),
            ink.fading(f"{prefix}-tress", ink.HAIR_DARK, "atlas-tress", 0.5),
            ink.falling(
                f"{prefix}-lip-upper",
                "#c08878",
                "atlas-lip-upper",
                0.55,
                0.85,
                heights=(60.2, 70.0),
            ),
            ink.falling(
                f"{prefix}-lip-lower", "#cf9d8f", "atlas-lip-lower", 0.85, 0.5, heights=(68.1, 78.3)
            ),
            f'<linearGradient id="{prefix}-skin" gradientUnits="userSpaceOnUse" x1="0" y1="-95" '
            'x2="0" y2="161">'
            f'<stop class="atlas-skin-stop" offset="0%" stop-color="{ink.SKIN}"/>'
            f'<stop class="atlas-skin-stop" offset="78%" stop-color="{ink.SKIN}"/>'
            f'<stop class="atlas-skin-stop" offset="100%" stop-color="{ink.SKIN}" '
            'stop-opacity="0"/>'
            "</linearGradient>",
            f'<clipPath id="{prefix}-face"><path d="{_skin()}"/></clipPath>',
            f'<clipPath id="{prefix}-hair"><path d="{_mass()}"/></clipPath>',
            "</defs>",
        )
    )


def _planes(prefix: str) -> str:
    shade, light = f"{prefix}-shade", f"{prefix}-light"
    spots: tuple[tuple[Point, Point, str, float, float], ...] = (
        ((-52, -16), (17, 28), shade, -20, 0.5),
        ((-48, 62), (25, 15), shade, 40, 0.45),
        ((-74, 62), (14, 34), shade, 12, 0.35),
        ((-52, 90), (34, 9), shade, 19, 0.35),
        ((-56, 108), (44, 11), shade, 20, 0.95),
        ((-30, 116), (26, 6), shade, 10, 0.5),
        ((-100, 84), (24, 30), shade, 20, 0.6),
        ((-133, 108), (20, 46), shade, 6, 0.7),
        ((-36, 33), (17, 9), light, -10, 0.9),
        ((-12, -38), (13, 18), light, -8, 0.8),
        ((-2, 97), (8, 8), light, 0, 0.8),
        ((-22, 54), (5, 14), shade, 24, 0.25),
        ((-14, 80), (6, 12), shade, -10, 0.22),
        ((-84, 122), (11, 26), light, -24, 0.3),
    )
    return "".join(ink.glow(c, r, g, turn=t, opacity=o) for c, r, g, t, o in spots)


def _mass() -> str:
    """Closed edge of the hair: over the head, nape, round the ear, temple, forehead."""
    behind_ear = (
        (-111, 47),
        (-115, 38),
        (-117, 27),
        (-115.2, 17),
        (-109.6, 9.4),
        (-102, 5.2),
        (-94.5, 5.8),
        (-88.8, 9.5),
    )
    parts = [path(HEAD_SIDE), path(NAPE_HAIR[::-1]), path(behind_ear), path(HAIRLINE_SIDE[::-1])]
    return "M" + "L".join(part[1:] for part in parts) + "Z"


def _hair(prefix: str) -> str:
    parts = [
        ink.fill_path(_mass(), ink.SKIN, "atlas-skin"),
        ink.fill_path(_mass(), ink.HAIR, "atlas-hair", opacity=0.42),
        f'<g clip-path="url(#{prefix}-hair)">',
        ink.glow((-58, -34), (26, 34), f"{prefix}-tress", turn=-30, opacity=0.7),
        ink.glow((-128, 40), (22, 46), f"{prefix}-tress", turn=-16, opacity=0.85),
        ink.glow((-100, -4), (40, 14), f"{prefix}-tress", turn=10, opacity=0.5),
        ink.glow((-92, -70), (56, 12), f"{prefix}-light", turn=-2, opacity=0.6),
        ink.glow((-186, 0), (16, 70), f"{prefix}-tress", turn=-6, opacity=0.6),
    ]
    parts += [_strand(index) for index in range(64)]
    parts += ["</g>", ink.pen(NAPE_HAIR, (0.1, 0.45, 0.5, 0.45, 0.1), opacity=0.55)]
    return "".join(parts)


# Strands run between these two guides, from the hairline round to the back of the head.
_ROOTS: tuple[Point, ...] = (
    (-8, -63),
    (-20, -59.5),
    (-31, -51.5),
    (-38, -41),
    (-42.5, -29),
    (-50, -19.5),
    (-59, -11),
    (-66, 0),
    (-71, 14),
    (-76, 28),
)
_BACK: tuple[Point, ...] = (
    (-120, -92),
    (-146, -79),
    (-166, -60),
    (-179, -40),
    (-186, -16),
    (-186, 6),
    (-180, 28),
    (-170, 46),
    (-158, 62),
    (-147, 78),
)


def _strand(index: int) -> str:
    """One of 64 strands combed back; lengths vary by a fixed pattern."""
    share = (index + 0.5) / 64
    root, back = along(_ROOTS, share), along(_BACK, share)
    near = (0.0, 0.0, 0.1, 0.34, 0.0, 0.52)[(index * 5) % 6]
    far = min(1.0, near + (0.42, 0.62, 0.5, 0.36, 0.7)[(index * 3) % 5])
    rise = 27 * (1 - share) + 7
    points = []
    for step in range(5):
        part = near + (far - near) * step / 4
        lift = 4 * part * (1 - part) * rise
        points.append(
            (root[0] + (back[0] - root[0]) * part, root[1] + (back[1] - root[1]) * part - lift)
        )
    return ink.pen(
        points,
        (0.08, (0.4, 0.65, 0.5)[index % 3], 0.05),
        colour=ink.HAIR_DARK,
        name="atlas-hair-line",
        opacity=(0.5, 0.3, 0.38, 0.24)[index % 4],
        step_mm=3,
    )


def _neck_lines() -> str:
    return "".join(
        (
            ink.pen(
                ((-104, 72), (-96, 92), (-83, 116), (-69, 140), (-60, 157)),
                (0.05, 0.4, 0.5, 0.45, 0.05),
                opacity=0.45,
            ),
            ink.pen(
                ((-112, 84), (-110, 104), (-112, 130), (-120, 152)),
                (0.05, 0.35, 0.3, 0.05),
                opacity=0.25,
            ),
            ink.pen(((-62, 158), (-80, 157), (-104, 160)), (0.05, 0.4, 0.05), opacity=0.35),
        )
    )


def _edges() -> str:
    profile = [*_profile(), *_SHOULDERS[0][1:]]
    return "".join(
        (
            ink.pen(HAIRLINE_SIDE, (0.2, 0.4, 0.4, 0.5, 0.5, 0.4, 0.1), opacity=0.45),
            ink.pen(HEAD_SIDE, (0.4, 0.55, 0.6, 0.6, 0.55, 0.5), opacity=0.8),
            ink.pen([*NECK_BACK, *_SHOULDERS[1][1:]], (0.5, 0.55, 0.55, 0.5, 0.3, 0.05)),
            ink.pen(JAWLINE_SIDE[1:-1], (0.05, 0.5, 0.6, 0.6, 0.6, 0.5, 0.05), opacity=0.75),
            ink.pen(profile, (0.4, 0.7, 0.8, 0.85, 0.85, 0.85, 0.8, 0.75, 0.6, 0.4, 0.05)),
        )
    )

"""The front view of the face as SVG text (millimetres)."""

from __future__ import annotations

from planning.atlas import front_features, ink
from planning.atlas.geometry import Point, along, between, flipped, path
from planning.atlas.jaw import shaped
from planning.atlas.outlines import EAR, FACE_EDGE, HAIRLINE, HEAD, NECK
from planning.vocabulary import Jaw

_SHOULDER: tuple[Point, ...] = ((63, 155.6), (78, 160.2))


def front(prefix: str, jaw: Jaw) -> str:
    """
    Definitions and drawing of the front view.

    Args:
        prefix: start of every id, so that several drawings can share a page.
        jaw: outline variant.
    """
    half = "".join((_half(prefix), front_features.nose_half(prefix), front_features.eye(prefix)))
    return "".join(
        (
            _definitions(prefix, jaw),
            _neck(prefix, jaw),
            _hair(prefix),
            _ears(prefix),
            ink.fill_path(_face(jaw), ink.SKIN, "atlas-skin"),
            f'<g clip-path="url(#{prefix}-face)">{_planes(prefix, jaw)}',
            f'<g id="{prefix}-half">{half}</g>',
            f'<use href="#{prefix}-half" transform="scale(-1 1)"/>',
            front_features.nose_midline(prefix),
            front_features.mouth(prefix),
            "</g>",
            _edges(jaw),
        )
    )


def _face(jaw: Jaw) -> str:
    edge = shaped(FACE_EDGE, jaw)
    right = path(edge)
    left = path(flipped(edge[::-1]))
    return (
        right
        + "L"
        + left[1:]
        + "L"
        + path(flipped(HAIRLINE[::-1]))[1:]
        + "L"
        + path(HAIRLINE)[1:]
        + "Z"
    )


def _definitions(prefix: str, jaw: Jaw) -> str:
    return "".join(
        (
            "<defs>",
            ink.fading(f"{prefix}-shade", ink.SHADE, "atlas-shade", 0.62),
            ink.fading(f"{prefix}-light", ink.LIGHT, "atlas-light", 0.95),
            ink.fading(f"{prefix}-tress", ink.HAIR_DARK, "atlas-tress", 0.5),
            ink.fading(f"{prefix}-lip", ink.LIP, "atlas-lip-tint", 0.9),
            ink.falling(
                f"{prefix}-lip-upper",
                "#c08878",
                "atlas-lip-upper",
                0.55,
                0.85,
                heights=(58.5, 68.9),
            ),
            ink.falling(
                f"{prefix}-lip-lower", "#cf9d8f", "atlas-lip-lower", 0.85, 0.5, heights=(67.5, 78.3)
            ),
            ink.falling(f"{prefix}-neck", ink.SKIN_DEEP, "atlas-neck", 1, 0, heights=(90.7, 160.2)),
            ink.falling(
                f"{prefix}-under", ink.SHADE, "atlas-shade", 0.75, 0, heights=(90.7, 127.5)
            ),
            ink.fading(f"{prefix}-iris", "#a9b3ae", "atlas-iris-in", 0.9),
            f'<clipPath id="{prefix}-face"><path d="{_face(jaw)}"/></clipPath>',
            "</defs>",
        )
    )


def _neck(prefix: str, jaw: Jaw) -> str:
    edge = shaped(NECK, jaw) + list(_SHOULDER)
    chin = shaped(((45.6, 90.7), *FACE_EDGE[8:]), jaw)
    shape = path(edge) + "L" + path(flipped(edge[::-1]))[1:] + "Z"
    shadow_low = [(48, 104), (30, 118), (13, 125.5), (0, 127.5)]
    shadow = (
        path(chin)
        + "L"
        + path(flipped(chin[::-1]))[1:]
        + "L"
        + path(flipped(shadow_low))[1:]
        + "L"
        + path(shadow_low[::-1])[1:]
        + "Z"
    )
    parts = [
        ink.fill_path(shape, f"url(#{prefix}-neck)", "atlas-neck-skin"),
        f'<clipPath id="{prefix}-throat"><path d="{shape}"/></clipPath>',
        f'<g clip-path="url(#{prefix}-throat)">',
        ink.fill_path(shadow, f"url(#{prefix}-under)", "atlas-under-chin"),
        "</g>",
    ]
    for side in (edge, flipped(edge)):
        parts.append(ink.pen(side, (0.8, 0.6, 0.55, 0.55, 0.5, 0.3, 0.05)))
    for cord in (
        ((37, 118), (30, 132), (20, 146), (11, 156)),
        ((9, 158), (20, 156.5), (34, 157), (50, 160)),
    ):
        for points in (list(cord), flipped(cord)):
            parts.append(ink.pen(points, (0.05, 0.45, 0.35, 0.05), opacity=0.4))
    for x in (1, -1):
        throat = ((x * 4.5, 130), (x * 5.2, 137), (x * 4.4, 143))
        parts.append(ink.pen(throat, (0.05, 0.3, 0.05), opacity=0.25))
    return "".join(parts)


def _hair(prefix: str) -> str:
    """Hair combed back: a soft mass, darker at its edge, with strands from the hairline."""
    outer = path(HEAD) + "L" + path(EAR[3:0:-1])[1:] + "L" + path(HAIRLINE[::-1])[1:]
    inner = (
        path(flipped(HAIRLINE))
        + "L"
        + path(flipped(EAR[1:4]))[1:]
        + "L"
        + path(flipped(HEAD[::-1]))[1:]
    )
    mass = outer + "L" + inner[1:] + "Z"
    parts = [
        f'<clipPath id="{prefix}-hair"><path d="{mass}"/></clipPath>',
        ink.fill_path(mass, ink.SKIN, "atlas-skin"),
        ink.fill_path(mass, ink.HAIR, "atlas-hair", opacity=0.42),
        f'<g clip-path="url(#{prefix}-hair)">',
    ]
    for sign in (1, -1):
        parts.append(
            ink.glow((sign * 63, -26), (13, 44), f"{prefix}-tress", turn=-sign * 14, opacity=0.8)
        )
        parts.append(
            ink.glow((sign * 30, -82), (26, 7), f"{prefix}-light", turn=sign * 24, opacity=0.55)
        )
    parts.append(ink.glow((0, -63), (60, 12), f"{prefix}-tress", opacity=0.65))
    parts.append(ink.glow((0, -96), (60, 10), f"{prefix}-tress", opacity=0.6))
    parts += [_strand(index, sign) for index in range(46) for sign in (1, -1)]
    parts.append("</g>")
    parts.append(ink.pen(HEAD, (0.5, 0.6, 0.6, 0.55, 0.4), opacity=0.8))
    parts.append(ink.pen(flipped(HEAD), (0.5, 0.6, 0.6, 0.55, 0.4), opacity=0.8))
    return "".join(parts)


def _strand(index: int, sign: int) -> str:
    """One of 46 strands a side, from the hairline to the crown; lengths vary by a fixed pattern."""
    share = (index + 0.5) / 46
    root = along(HAIRLINE[:10], share)
    crown = along(HEAD, 0.02 + 0.98 * share)
    far = (0.5, 0.95, 0.68, 1.0, 0.8)[(index * 3) % 5]
    near = (0.0, 0.0, 0.12, 0.0, 0.3)[(index * 2) % 5]
    bow = 7 * share * (1 - share)
    start, end = between(root, crown, near), between(root, crown, far)
    middle = between(start, end, 0.5)
    points = [start, (middle[0] - bow * 0.5, middle[1] - bow), end]
    return ink.pen(
        [(sign * x, y) for x, y in points],
        (0.08, (0.35, 0.6, 0.45)[index % 3], 0.05),
        colour=ink.HAIR_DARK,
        name="atlas-hair-line",
        opacity=(0.5, 0.3, 0.38, 0.24)[index % 4],
        step_mm=2.5,
    )


def _ears(prefix: str) -> str:
    parts = []
    inner = ((67.6, 10), (69.8, 4.4), (72.8, 3), (74.6, 7), (74, 16), (72, 27), (69.6, 37))
    fold = ((66.8, 19), (69, 12.6), (71.2, 14), (71, 22), (69.4, 31), (67.4, 38.5))
    for flip in (False, True):
        edge = flipped(EAR) if flip else list(EAR)
        parts.append(
            ink.fill(
                [*edge, (-62 if flip else 62, 40), (-63 if flip else 63, 26)],
                ink.SKIN_DEEP,
                "atlas-skin-deep",
            )
        )
        parts.append(
            ink.glow(
                (-69 if flip else 69, 24),
                (5, 18),
                f"{prefix}-shade",
                opacity=0.7,
                turn=-8 if flip else 8,
            )
        )
        parts.append(ink.pen(edge, (0.3, 0.6, 0.7, 0.65, 0.6, 0.6, 0.25)))
        parts.append(
            ink.pen(flipped(inner) if flip else inner, (0.1, 0.5, 0.45, 0.4, 0.1), opacity=0.6)
        )
        parts.append(
            ink.pen(flipped(fold) if flip else fold, (0.1, 0.5, 0.5, 0.3, 0.1), opacity=0.55)
        )
    return "".join(parts)


def _planes(prefix: str, jaw: Jaw) -> str:
    """Soft modelling of both halves."""
    shade, light = f"{prefix}-shade", f"{prefix}-light"
    spots: tuple[tuple[Point, Point, str, float, float], ...] = (
        ((66, -8), (15, 34), shade, 0, 0.6),
        ((62, 52), (13, 30), shade, 12, 0.5),
        ((44, 62), (14, 26), shade, 26, 0.3),
        ((47, 92), (26, 15), shade, -38, 0.55),
        ((20, 109), (24, 7), shade, -14, 0.5),
        ((42, 27), (15, 9), light, -24, 0.85),
        ((24, -38), (22, 15), light, 0, 0.7),
        ((21, 56), (4.4, 11), shade, -24, 0.2),
        ((31, 79), (5, 10), shade, 18, 0.18),
    )
    parts = []
    for centre, radii, gradient, turn, opacity in spots:
        moved = shaped([centre], jaw)[0]
        for x, angle in ((moved[0], turn), (-moved[0], -turn)):
            parts.append(ink.glow((x, moved[1]), radii, gradient, turn=angle, opacity=opacity))
    parts.append(ink.glow((0, -60), (46, 9), shade, opacity=0.4))
    parts.append(ink.glow((0, 97), (13, 8), light, opacity=0.8))
    parts.append(ink.glow((0, -9), (6, 10), shade, opacity=0.16))
    return "".join(parts)


def _half(prefix: str) -> str:
    """Cheek lines so faint that they only suggest."""
    return "".join(
        (
            ink.pen(((17, 47.4), (19.8, 51.2), (22.6, 56.4)), (0.05, 0.36, 0.05), opacity=0.26),
            ink.pen(((25.8, 68.4), (27, 69.6), (27.2, 71.4)), (0.35, 0.4, 0.05), opacity=0.6),
            ink.pen(((2, 88.4), (6, 87.8), (9.4, 86.2)), (0.2, 0.3, 0.05), opacity=0.22),
        )
    )


def _edges(jaw: Jaw) -> str:
    edge = shaped(FACE_EDGE, jaw)
    whole = edge + flipped(edge[-2::-1])
    hair = ink.pen(HAIRLINE, (0.2, 0.35, 0.4, 0.5, 0.6, 0.6, 0.3), opacity=0.45)
    other = ink.pen(flipped(HAIRLINE), (0.2, 0.35, 0.4, 0.5, 0.6, 0.6, 0.3), opacity=0.45)
    return hair + other + ink.pen(whole, (0.15, 0.5, 0.7, 0.85, 0.9, 0.85, 0.7, 0.5, 0.15))

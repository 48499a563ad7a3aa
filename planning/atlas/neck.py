"""The neck view, chin to below the collar bones, as SVG text (millimetres)."""

from __future__ import annotations

from planning.atlas import ink
from planning.atlas.geometry import Point, flipped, path
from planning.atlas.jaw import shaped
from planning.atlas.measurements import NECK_FRONT
from planning.atlas.neck_map import (
    CHIN,
    COLLAR_BONE,
    FLOOR,
    JAW_CORNER,
    NECK_EDGE,
    SCM_LATERAL,
    SCM_MEDIAL,
)
from planning.atlas.outlines import FACE_EDGE
from planning.vocabulary import Jaw

_NOTCH_Y = NECK_FRONT["jugulare"].y_mm
_PROMINENCE_Y = NECK_FRONT["prominence"].y_mm
_CHEEK = FACE_EDGE[6 : FACE_EDGE.index(JAW_CORNER) + 1]
_FADES = 16
_NOTCH = f"L4 {_NOTCH_Y + 4:g}L0 {_NOTCH_Y + 4.6:g}L-4 {_NOTCH_Y + 4:g}"


def neck(prefix: str, jaw: Jaw) -> str:
    """Definitions and drawing of the neck view; `prefix` starts every id."""
    half = _half(prefix, jaw)
    return "".join(
        (
            _definitions(prefix, jaw),
            _skin(jaw),
            f'<g clip-path="url(#{prefix}-skin)">',
            _shadow(prefix, jaw),
            f'<g id="{prefix}-half">{half}</g>',
            f'<use href="#{prefix}-half" transform="scale(-1 1)"/>',
            _middle(prefix),
            "</g>",
            _chin(prefix, jaw),
            _edges(jaw),
        )
    )


def _definitions(prefix: str, jaw: Jaw) -> str:
    face = shaped((*_CHEEK, *CHIN[1:]), jaw)
    chin = path(face) + "L" + path(flipped(face[::-1]))[1:] + "Z"
    return "".join(
        (
            "<defs>",
            ink.fading(f"{prefix}-shade", ink.SHADE, "atlas-shade", 0.62),
            ink.fading(f"{prefix}-light", ink.LIGHT, "atlas-light", 0.95),
            ink.falling(
                f"{prefix}-under", ink.SHADE, "atlas-shade", 0.66, 0, heights=(90.7, 134.0)
            ),
            ink.falling(f"{prefix}-rise", ink.SKIN, "atlas-skin", 0, 1, heights=(77.5, 90.7)),
            f'<clipPath id="{prefix}-skin"><path d="{_outline(jaw, 0)}"/></clipPath>',
            f'<clipPath id="{prefix}-chin"><path d="{chin}"/></clipPath>',
            "</defs>",
        )
    )


def _outline(jaw: Jaw, rise: float) -> str:
    """The skin, its lower edge drawn in by `rise` mm."""
    edge = shaped(NECK_EDGE, jaw)
    floor = [(x - rise * x / 128, y - rise * (y - 170) / 80) for x, y in FLOOR]
    right = path(edge) + "L" + path(floor)[1:]
    left = path(flipped(floor[::-1])) + "L" + path(flipped(edge[::-1]))[1:]
    return right + "L" + left[1:] + "Z"


def _skin(jaw: Jaw) -> str:
    """Thin layers, each ending a little higher, and the whole on top: the chest fades out."""
    layer = 1 - 0.02 ** (1 / _FADES)
    thin = "".join(
        ink.fill_path(_outline(jaw, step * 1.3), ink.SKIN, "atlas-skin", opacity=layer)
        for step in range(_FADES)
    )
    return thin + ink.fill_path(_outline(jaw, _FADES * 1.3), ink.SKIN, "atlas-skin")


def _shadow(prefix: str, jaw: Jaw) -> str:
    """
    Under the jaw. It has faded long before its lower edge, which lies on the collar bones, because
    some viewers draw a hair line along the edge of a faded shape.
    """
    edge = [*shaped(NECK_EDGE, jaw), COLLAR_BONE[-1]]
    half = path(edge) + "L" + path(COLLAR_BONE[::-1])[1:]
    other = path(flipped(COLLAR_BONE)) + "L" + path(flipped(edge[::-1]))[1:]
    return ink.fill_path(
        f"{half}{_NOTCH}L{other[1:]}Z", f"url(#{prefix}-under)", "atlas-under-chin"
    )


def _half(prefix: str, jaw: Jaw) -> str:
    shade, light = f"{prefix}-shade", f"{prefix}-light"
    medial, lateral = shaped(SCM_MEDIAL, jaw), shaped(SCM_LATERAL, jaw)
    parts = [
        ink.glow((46, 128), (7, 34), shade, opacity=0.55),
        ink.glow((24, 160), (6, 34), shade, turn=18, opacity=0.3),
        ink.glow((30, 150), (7, 34), light, turn=15, opacity=0.6),
        ink.glow((62, 180), (20, 8.4), shade, turn=2, opacity=0.6),
        ink.glow((30, 186), (8, 5), shade, turn=-4, opacity=0.32),
        ink.glow((60, 195.6), (44, 4), light, turn=-3, opacity=1),
        ink.glow((54, 204.6), (42, 5), shade, turn=-4, opacity=0.5),
        ink.glow((98, 208), (18, 13), shade, turn=-24, opacity=0.3),
        ink.glow((50, 226), (34, 14), light, opacity=0.6),
        ink.pen(medial[1:], (0.05, 0.2, 0.35, 0.5, 0.6, 0.3), opacity=0.45),
        ink.pen(lateral[1:], (0.05, 0.25, 0.3, 0.3, 0.05), opacity=0.35),
        # the gap between the two heads of the muscle, just above the collar bone
        ink.pen(((30.5, 168), (27.6, 180), (24.4, 190.6)), (0.05, 0.3, 0.2), opacity=0.35),
        ink.pen(COLLAR_BONE, (0.5, 0.6, 0.5, 0.42, 0.35, 0.1), opacity=0.6),
        ink.pen(
            ((22, 201.4), (34, 200.6), (54, 199.4), (78, 198)), (0.05, 0.35, 0.3, 0.05), opacity=0.4
        ),
        ink.pen(
            (COLLAR_BONE[0], (8.0, 198.4), (9.4, 201.4), (14, 202.6)),
            (0.4, 0.55, 0.4, 0.05),
            opacity=0.6,
        ),
        ink.pen(((118, 196), (110, 208), (100, 222)), (0.05, 0.35, 0.05), opacity=0.3),
        ink.pen(((38, 121.5), (24, 127.4), (10, 130)), (0.05, 0.22, 0.05), opacity=0.28),
        ink.pen(((33, 152), (20, 156.4), (8, 157.6)), (0.05, 0.2, 0.05), opacity=0.24),
    ]
    return "".join(parts)


def _middle(prefix: str) -> str:
    """Windpipe, notch and breastbone."""
    shade, light = f"{prefix}-shade", f"{prefix}-light"
    parts = [
        ink.glow((0, _PROMINENCE_Y), (7, 9), light, opacity=0.7),
        ink.glow((0, _PROMINENCE_Y + 22), (5, 18), light, opacity=0.4),
        ink.glow((0, _NOTCH_Y - 6), (9, 12), shade, opacity=0.6),
        ink.glow((0, 222), (5, 22), shade, opacity=0.22),
        ink.pen(
            ((-8, _NOTCH_Y + 1.6), (-4, _NOTCH_Y + 4), (0, _NOTCH_Y + 4.6), (4, _NOTCH_Y + 4),
             (8, _NOTCH_Y + 1.6)),
            (0.1, 0.5, 0.6, 0.5, 0.1), opacity=0.6,
        ),
    ]  # fmt: skip
    for x in (1, -1):
        y = _PROMINENCE_Y
        parts.append(
            ink.pen(
                ((x * 5.4, y - 9), (x * 3.6, y - 2), (x * 4.6, y + 8), (x * 5.2, y + 24)),
                (0.05, 0.4, 0.3, 0.05),
                opacity=0.34,
            )
        )
    return "".join(parts)


def _chin(prefix: str, jaw: Jaw) -> str:
    """The lower face, only to show where the neck begins; it takes no points on this view."""
    face = shaped((*_CHEEK, *CHIN[1:]), jaw)
    data = path(face) + "L" + path(flipped(face[::-1]))[1:] + "Z"
    return "".join(
        (
            ink.fill_path(data, f"url(#{prefix}-rise)", "atlas-chin"),
            f'<g clip-path="url(#{prefix}-chin)">',
            ink.glow((0, 99), (15, 9), f"{prefix}-light", opacity=0.7),
            ink.glow((22, 108), (22, 6), f"{prefix}-shade", turn=-14, opacity=0.35),
            ink.glow((-22, 108), (22, 6), f"{prefix}-shade", turn=14, opacity=0.35),
            "</g>",
            ink.pen(((-10, 86.4), (-5, 87.9), (0, 88.3), (5, 87.9), (10, 86.4)), (0.05, 0.3, 0.05),
                    opacity=0.3),
        )
    )  # fmt: skip


def _edges(jaw: Jaw) -> str:
    edge = shaped(NECK_EDGE, jaw)
    chin = shaped(CHIN, jaw)
    whole = chin + flipped(chin[-2::-1])
    cheek: list[Point] = shaped(_CHEEK, jaw)
    parts = [ink.pen(whole, (0.6, 0.85, 0.8, 0.7, 0.8, 0.85, 0.6))]
    for line in (edge, flipped(edge)):
        parts.append(ink.pen(line, (0.8, 0.65, 0.6, 0.6, 0.65, 0.6, 0.5, 0.3, 0.08)))
    for line in (cheek, flipped(cheek)):
        parts.append(ink.pen(line, (0.05, 0.35, 0.6)))
    return "".join(parts)

"""The backs of both hands as SVG text (millimetres)."""

from __future__ import annotations

from planning.atlas import ink
from planning.atlas.geometry import Point, between, number, path
from planning.atlas.hand_map import DIGITS, HAND_EDGE, THUMB, Digit

_FOREARM: tuple[Point, ...] = ((54.6, -46.0), (53.9, -34.0))
_FOREARM_OUT: tuple[Point, ...] = ((107.2, -34.0), (108.4, -46.0))
_FADES = 16
_KNUCKLES: tuple[Point, ...] = ((54.4, 80.6), (75.4, 82.4), (95.4, 79.6), (112.6, 73.6))


def hands(prefix: str) -> str:
    """Definitions and drawing of the hands view; `prefix` starts every id."""
    outline = _outline()
    half = "".join(
        (
            _skin(),
            f'<g clip-path="url(#{prefix}-edge)">{_planes(prefix)}</g>',
            _tendons(),
            "".join(_knuckle(at) for at in _KNUCKLES),
            "".join(_digit(digit, prefix) for digit in DIGITS),
            ink.pen(
                (*_FOREARM, *HAND_EDGE, *_FOREARM_OUT),
                (0.05, 0.5, 0.7, *(0.75 for _ in range(28)), 0.7, 0.5, 0.05),
            ),
        )
    )
    return "".join(
        (
            "<defs>",
            ink.fading(f"{prefix}-shade", ink.SHADE, "atlas-shade", 0.62),
            ink.fading(f"{prefix}-light", ink.LIGHT, "atlas-light", 0.95),
            f'<clipPath id="{prefix}-edge"><path d="{outline}"/></clipPath>',
            "</defs>",
            f'<g id="{prefix}-half">{half}</g>',
            f'<use href="#{prefix}-half" transform="scale(-1 1)"/>',
        )
    )


def _outline() -> str:
    return path((*_FOREARM, *HAND_EDGE, *_FOREARM_OUT)) + "Z"


def _skin() -> str:
    """The hand, and thin layers over one another that end one by one: the forearm fades out."""
    layer = 1 - 0.01 ** (1 / _FADES)
    fades = []
    for step in range(_FADES):
        top = -25.0 - 1.3 * step
        fades.append(
            f'<path class="atlas-skin" d="M54 {number(top)}H107.4V-24H53.6Z" fill="{ink.SKIN}" '
            f'fill-opacity="{number(layer)}"/>'
        )
    return "".join(fades) + ink.fill_path(path(HAND_EDGE) + "Z", ink.SKIN, "atlas-skin")


def _planes(prefix: str) -> str:
    """Soft modelling: hollows between the tendons, light on the knuckles."""
    shade, light = f"{prefix}-shade", f"{prefix}-light"
    spots: tuple[tuple[Point, Point, str, float, float], ...] = (
        ((48, 40), (9, 24), shade, 24, 0.4),
        ((63.6, 52), (4.4, 26), shade, 3, 0.42),
        ((83.8, 52), (4.2, 26), shade, -2, 0.42),
        ((101.4, 50), (4.2, 24), shade, -9, 0.42),
        ((118.6, 48), (5, 34), shade, -8, 0.45),
        ((40, 70), (7, 10), shade, 30, 0.4),
        ((80, -8), (26, 10), light, 0, 0.6),
        ((104, -4), (6, 6), light, 0, 0.9),
    )
    parts = [ink.glow(at, radii, tone, turn=turn, opacity=o) for at, radii, tone, turn, o in spots]
    parts += [ink.glow((x, y - 1), (8.6, 6.4), light, opacity=1) for x, y in _KNUCKLES]
    for digit in DIGITS:
        for share in digit.joints:
            x, y = digit.at(share)
            parts.append(ink.glow((x, y), (digit.widths[1] * 0.42, 4.6), light, opacity=0.85))
        for aside in (-1, 1):
            x, y = digit.at(0.5, aside * digit.widths[1] / 2)
            parts.append(ink.glow((x, y), (3, 24), shade, turn=_turn(digit), opacity=0.42))
    return "".join(parts)


def _turn(digit: Digit) -> float:
    """Degrees by which an upright shade leans along the digit, near enough for a soft edge."""
    (x, y), (u, v) = digit.base, digit.tip
    return -57.3 * (u - x) / (v - y)


def _tendons() -> str:
    roots: tuple[Point, ...] = ((70, 14), (78, 15.5), (86, 15.5), (93, 14.5))
    parts = []
    for root, knuckle in zip(roots, _KNUCKLES, strict=True):
        for aside in (-1.5, 1.5):
            start = between(root, knuckle, 0.12)
            middle = between(root, knuckle, 0.5)
            end = between(root, knuckle, 0.84)
            line = [(x + aside, y) for x, y in (start, middle, end)]
            parts.append(ink.pen(line, (0.05, 0.3, 0.32, 0.05), opacity=0.34))
    thumb = ((62, 8), (50, 32), (36, 56))
    parts.append(ink.pen(thumb, (0.05, 0.35, 0.3, 0.05), opacity=0.34))
    parts.append(ink.pen(((58, 6), (46.6, 30), (33, 54)), (0.05, 0.35, 0.3, 0.05), opacity=0.3))
    creases = (((56, -2.6), (70, -0.8), (88, -0.6), (104, -2.4)), ((62, 1.8), (80, 3), (98, 1.6)))
    parts += [ink.pen(line, (0.05, 0.28, 0.28, 0.05), opacity=0.34) for line in creases]
    return "".join(parts)


def _arc(start: Point, end: Point, bow: Point, widths: tuple[float, ...], opacity: float) -> str:
    """A shallow bow from start to end whose middle is moved by `bow`."""
    points = []
    for step in range(7):
        share = step / 6
        x, y = between(start, end, share)
        lift = 4 * share * (1 - share)
        points.append((x + bow[0] * lift, y + bow[1] * lift))
    return ink.pen(points, widths, opacity=opacity)


def _knuckle(at: Point) -> str:
    x, y = at
    return "".join(
        _arc((x - half, y + low), (x + half, y + low), (0, -rise), (0.05, 0.34, 0.05), 0.4)
        for half, low, rise in ((6.2, 0.8, 2.0), (4.4, -2.4, 1.3))
    )


def _digit(digit: Digit, prefix: str) -> str:
    """Skin folds over both joints, and the nail."""
    parts = []
    for share, width, folds in zip(digit.joints, digit.widths[1:3], (3, 2), strict=True):
        if digit is THUMB and share < 0.2:
            folds = 2
        for fold in range(folds):
            offset = share + (fold - (folds - 1) / 2) * 0.034
            reach = width * (0.3 - 0.04 * abs(fold - (folds - 1) / 2))
            bow = 0.9 * ((folds - 1) / 2 - fold)
            parts.append(
                _arc(
                    digit.at(offset, -reach),
                    digit.at(offset, reach),
                    (0, -bow),
                    (0.05, 0.4, 0.05),
                    0.5,
                )
            )
    return "".join(parts) + _nail(digit)


def _nail(digit: Digit) -> str:
    half = digit.widths[3] * 0.36
    far = digit.joints[1]
    start, end = far + (1 - far) * 0.42, far + (1 - far) * 0.97
    if digit is THUMB:
        start = far + (1 - far) * 0.46
    bed = [
        digit.at(end, -half * 0.72),
        digit.at((start + end) / 2, -half),
        digit.at(start + 0.012, -half * 0.9),
        digit.at(start - 0.008, 0),
        digit.at(start + 0.012, half * 0.9),
        digit.at((start + end) / 2, half),
        digit.at(end, half * 0.72),
    ]
    moon = _arc(
        digit.at(start + 0.035, -half * 0.55),
        digit.at(start + 0.035, half * 0.55),
        (0, 1.5),
        (0.05, 0.25, 0.05),
        0.4,
    )
    edge = [bed[-1], digit.at(end + 0.012, 0), bed[0]]
    return "".join(
        (
            ink.fill([*bed, digit.at(end + 0.012, 0)], ink.LIGHT, "atlas-light", opacity=0.85),
            ink.pen(bed, (0.1, 0.42, 0.5, 0.45, 0.5, 0.42, 0.1), opacity=0.75),
            moon,
            ink.pen(edge, (0.1, 0.3, 0.1), opacity=0.5),
        )
    )

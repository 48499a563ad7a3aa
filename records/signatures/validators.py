"""
A signature as it was drawn: strokes of a pen on a pad of one size, kept as JSON.

The text holds strokes, a stroke holds points, a point is two whole numbers of the pad's own units:
`[[[12,90],[14,88]],[[40,60]]]`. The empty text is no signature.
"""

import json
from itertools import pairwise
from math import dist

from django.core.exceptions import ValidationError

WIDTH, HEIGHT = 600, 200
MOST_POINTS = 6_000
LEAST_LENGTH = 60
"""Shorter lines are a touch by accident. Common practice, no source."""

Stroke = list[tuple[int, int]]

_BROKEN = "The signature did not arrive whole. Clear the pad and sign again."


def strokes_of(text: str) -> list[Stroke]:
    """
    The strokes of a kept signature; none where nobody signed.

    Raises:
        ValidationError: no strokes, points beside the pad, or more of them than a hand draws.
    """
    if not text:
        return []
    try:
        strokes = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise ValidationError(_BROKEN) from error
    if not isinstance(strokes, list) or not all(map(_is_stroke, strokes)):
        raise ValidationError(_BROKEN)
    if sum(map(len, strokes)) > MOST_POINTS:
        raise ValidationError("That is more than a signature. Clear the pad and sign again.")
    return [[(x, y) for x, y in stroke] for stroke in strokes]


def signature_text(text: str) -> str:
    """
    What was sent, as it is kept: without blanks, and nothing for an empty pad.

    Raises:
        ValidationError: as `strokes_of`, or too little of a line to be a signature.
    """
    strokes = strokes_of(text)
    if not strokes:
        return ""
    if sum(dist(*ends) for stroke in strokes for ends in pairwise(stroke)) < LEAST_LENGTH:
        raise ValidationError("That is a dot, not a signature. Clear the pad and sign again.")
    return json.dumps(strokes, separators=(",", ":"))


def _is_stroke(stroke: object) -> bool:
    return isinstance(stroke, list) and bool(stroke) and all(map(_is_point, stroke))


def _is_point(point: object) -> bool:
    if not isinstance(point, list) or len(point) != 2:
        return False
    x, y = point
    # A bool is an int to Python, and no place on a pad.
    return type(x) is int and type(y) is int and 0 <= x <= WIDTH and 0 <= y <= HEIGHT

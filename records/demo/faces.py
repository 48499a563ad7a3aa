"""
Drawn faces for the demo's photographs: plain shapes, of nobody.

Everything is placed on a sheet of 300 by 400, the patient's right at the left of it; a `Camera`
brings the sheet to the pixels of the picture.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, radians, sin

from PIL import Image, ImageDraw

from planning.atlas.geometry import Cell, Point, sample, smooth
from planning.landmarks import Landmark
from planning.standard_views import PhotoState, PhotoView, Shot

WIDTH, HEIGHT = 720, 960
# Drawn larger and made smaller, for smooth edges.
_DENSER = 2
_PIXELS = WIDTH / 300

Colour = tuple[int, int, int]

LANDMARKS: dict[Landmark, Point] = {
    Landmark.EYE_IN_RIGHT: (129, 193),
    Landmark.EYE_IN_LEFT: (171, 193),
    Landmark.NOSE_BASE: (150, 251),
}
"""Of the front view."""


@dataclass(frozen=True)
class Look:
    """Colours of one invented person."""

    skin: Colour
    hair: Colour
    iris: Colour


@dataclass(frozen=True)
class Lines:
    """How deep lines are, from 0 to 1: beside the nose, between the brows, on the forehead."""

    fold: float = 0.0
    frown: float = 0.0
    forehead: float = 0.0


@dataclass(frozen=True)
class Camera:
    """How a picture was taken: turned by degrees, how near, how far off the middle, how light."""

    turn: float = 0.0
    near: float = 1.0
    off: Point = (0.0, 0.0)
    light: float = 1.0

    def pixels(self, x: float, y: float) -> Point:
        """Where a place of the sheet is in the picture."""
        turn = radians(self.turn)
        x, y = (x - 150) * self.near, (y - 200) * self.near
        across = 150 + self.off[0] + x * cos(turn) - y * sin(turn)
        down = 200 + self.off[1] + x * sin(turn) + y * cos(turn)
        return across * _PIXELS, down * _PIXELS

    def mark(self, landmark: Landmark) -> Cell:
        x, y = self.pixels(*LANDMARKS[landmark])
        return round(x), round(y)


class Sketch:
    """A sheet being drawn on; `flip` draws it as in a mirror, for the other side."""

    def __init__(self, look: Look, camera: Camera, *, flip: bool = False) -> None:
        self.look, self.camera, self.flip = look, camera, flip
        size = (WIDTH * _DENSER, HEIGHT * _DENSER)
        self.image = Image.new("RGB", size, self.lit((196, 204, 206)))
        self.pen = ImageDraw.Draw(self.image)

    def lit(self, colour: Colour, share: float = 1.0) -> Colour:
        """The colour in the camera's light, darker by `share`."""
        red, green, blue = (min(255, round(c * share * self.camera.light)) for c in colour)
        return red, green, blue

    def at(self, places: Sequence[Point]) -> list[Point]:
        moved = [self.camera.pixels(300 - x if self.flip else x, y) for x, y in places]
        return [(x * _DENSER, y * _DENSER) for x, y in moved]

    def shape(self, places: Sequence[Point], colour: Colour, share: float = 1.0) -> None:
        round_it = sample(smooth(places, closed=True), 3)
        self.pen.polygon(self.at(round_it), fill=self.lit(colour, share))

    def line(self, places: Sequence[Point], depth: float = 0.4, width: float = 2.2) -> None:
        """A line in the skin; nothing where its depth is none."""
        if depth > 0:
            line = sample(smooth(places), 3)
            colour = self.lit(self.look.skin, 1 - 0.45 * depth)
            pixels = round(width * _PIXELS * _DENSER * self.camera.near)
            self.pen.line(self.at(line), fill=colour, width=pixels, joint="curve")

    def disc(self, x: float, y: float, radius: float, colour: Colour) -> None:
        self.shape([(x - radius, y), (x, y - radius), (x + radius, y), (x, y + radius)], colour)

    def jpeg(self) -> bytes:
        written = io.BytesIO()
        self.image.reduce(_DENSER).save(written, "JPEG", quality=85)
        return written.getvalue()

    def strand(self, places: Sequence[Point]) -> None:
        """A brow."""
        line = sample(smooth(places), 3)
        width = round(5 * _PIXELS * _DENSER * self.camera.near)
        self.pen.line(self.at(line), fill=self.lit(self.look.hair, 0.9), width=width, joint="curve")


def drawn_face(look: Look, shot: Shot, lines: Lines, camera: Camera) -> bytes:
    """One picture of a series as a JPEG file; the views of face and profile alone."""
    flip = shot.view in (PhotoView.OBLIQUE_LEFT, PhotoView.PROFILE_LEFT)
    sketch = Sketch(look, camera, flip=flip)
    if shot.view in (PhotoView.PROFILE_RIGHT, PhotoView.PROFILE_LEFT):
        _profile(sketch, lines)
    else:
        turned = shot.view is not PhotoView.FRONT
        _head(sketch, turned=turned)
        _upper_face(sketch, Features(turned=turned), shot.state, lines)
        _lower_face(sketch, Features(turned=turned), shot.state, lines)
    return sketch.jpeg()


_SHIRT: Colour = (112, 128, 134)
_WHITE: Colour = (244, 242, 238)
_LIPS: Colour = (186, 104, 98)
_BLACK: Colour = (34, 30, 30)

# Outlines seen from the front.
_HAIR = ((150, 48), (226, 80), (252, 180), (236, 300), (64, 300), (48, 180), (74, 80))
_FRINGE = (
    (150, 58), (216, 78), (238, 150), (206, 104), (150, 90), (94, 104), (62, 150), (84, 78),
)  # fmt: skip
_FACE = (
    (150, 70), (214, 94), (236, 165), (228, 236), (196, 302), (150, 334), (104, 302), (72, 236),
    (64, 165), (86, 94),
)  # fmt: skip
_NECK = ((112, 280), (188, 280), (196, 372), (104, 372))
_SHOULDERS = ((20, 410), (60, 366), (150, 358), (240, 366), (280, 410))
_EAR = ((-9, 190), (0, 178), (9, 190), (4, 226), (-6, 218))
# And from the patient's right.
_SIDE_HAIR = (
    (140, 52), (204, 78), (196, 104), (150, 112), (128, 160), (118, 236), (78, 262), (50, 190),
    (62, 96),
)  # fmt: skip
_SIDE_FACE = (
    (140, 66), (200, 84), (216, 130), (214, 172), (224, 196), (240, 232), (222, 246), (228, 262),
    (220, 276), (226, 290), (214, 304), (214, 322), (190, 334), (150, 320), (110, 282), (78, 220),
    (74, 130), (100, 82),
)  # fmt: skip
_SIDE_NECK = ((92, 250), (140, 290), (154, 350), (150, 392), (92, 392), (96, 330))
_SIDE_SHOULDERS = ((30, 410), (70, 372), (120, 362), (170, 374), (214, 410))
_FOREHEAD = (116, 129, 142)


@dataclass(frozen=True)
class Features:
    """Where features lie: on a turned face nearer to its far side, and closer together."""

    turned: bool

    def of(self, *places: Point) -> list[Point]:
        if not self.turned:
            return list(places)
        return [(176 + (x - 150) * 0.78, y) for x, y in places]

    def both(self, *places: Point) -> tuple[list[Point], list[Point]]:
        """The same on both sides."""
        return self.of(*places), self.of(*((300 - x, y) for x, y in places))


def _head(sketch: Sketch, *, turned: bool) -> None:
    skin, hair = sketch.look.skin, sketch.look.hair
    sketch.shape(_HAIR, hair)
    sketch.shape(_NECK, skin, 0.9)
    sketch.shape(_SHOULDERS, _SHIRT)
    for ear in (70,) if turned else (62, 238):
        sketch.shape([(ear + x, y) for x, y in _EAR], skin, 0.94)
    sketch.shape(_FACE, skin)
    sketch.shape(_FRINGE, hair)


def _upper_face(sketch: Sketch, features: Features, state: PhotoState, lines: Lines) -> None:
    """Forehead, brows and eyes."""
    forehead = lines.forehead * (1 if state is PhotoState.BROWS_RAISED else 0.25)
    frown = lines.frown * (1 if state is PhotoState.FROWN else 0.4)
    lift = {PhotoState.BROWS_RAISED: -9, PhotoState.FROWN: 6}.get(state, 0)
    for down in _FOREHEAD:
        sketch.line(features.of((104, down + 4), (150, down - 2), (196, down + 4)), forehead, 1.8)
    for brow in features.both((88, 174 + lift / 2), (106, 166 + lift), (132, 169 + lift)):
        sketch.strand(brow)
    for line in features.both((143, 160), (145, 182)):
        sketch.line(line, frown)
    for eye in features.both((90, 192), (110, 182), (129, 193), (109, 200)):
        sketch.shape(eye, _WHITE)
    for iris in features.both((110, 191)):
        ((x, y),) = iris
        sketch.disc(x, y, 8, sketch.look.iris)
        sketch.disc(x, y, 3.5, _BLACK)
    for lid in features.both((89, 191), (109, 180), (130, 193)):
        sketch.line(lid, 1.0, 2)


def _lower_face(sketch: Sketch, features: Features, state: PhotoState, lines: Lines) -> None:
    """Nose, mouth and the folds between them."""
    wide = 8 if state is PhotoState.SMILE else 0
    right, left = (122 - wide, 284 - 0.7 * wide), (178 + wide, 284 - 0.7 * wide)
    for side in features.both((140, 196), (136, 230), (133, 244), (142, 250)):
        sketch.line(side, 0.45)
    sketch.line(features.of((142, 250), (150, 253), (158, 250)), 0.6)
    for fold in features.both((130, 240), (112 - wide / 2, 262), (106 - wide, 288)):
        sketch.line(fold, lines.fold * (1.25 if wide else 1), 2.6)
    upper = features.of(right, (143, 275), (150, 278), (157, 275), left, (150, 288))
    lower = features.of(right, (150, 287), left, (165, 297), (150, 300), (135, 297))
    sketch.shape(upper, _LIPS)
    sketch.shape(lower, _LIPS, 1.08)
    sketch.line(features.of(right, (150, 287), left), 1.0, 1.5)
    sketch.line(features.of((136, 314), (150, 310), (164, 314)), 0.25)


def _profile(sketch: Sketch, lines: Lines) -> None:
    """From the patient's right, looking to the right of the picture."""
    skin = sketch.look.skin
    sketch.shape(_SIDE_NECK, skin, 0.9)
    sketch.shape(_SIDE_SHOULDERS, _SHIRT)
    sketch.shape(_SIDE_FACE, skin)
    sketch.shape(_SIDE_HAIR, sketch.look.hair)
    sketch.shape([(124 + x, y) for x, y in _EAR], skin, 0.93)
    sketch.line([(116, 192), (125, 186), (126, 210)], 0.5)
    for down in _FOREHEAD:
        sketch.line([(172, down + 2), (208, down)], lines.forehead * 0.25, 1.8)
    sketch.strand([(182, 172), (200, 166), (212, 170)])
    sketch.shape([(184, 192), (204, 183), (207, 196), (200, 200)], _WHITE)
    sketch.disc(202, 191, 5, sketch.look.iris)
    sketch.line([(182, 192), (196, 183), (208, 184)], 1.0, 2)
    sketch.line([(214, 236), (208, 244), (216, 248)], 0.6)
    sketch.line([(206, 238), (192, 260), (186, 288)], lines.fold, 2.6)
    sketch.shape([(198, 283), (214, 274), (225, 279), (220, 283)], _LIPS)
    sketch.shape([(198, 283), (220, 284), (223, 291), (210, 297)], _LIPS, 1.08)

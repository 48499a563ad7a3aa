"""
The scale of a photograph: two of its points whose distance is known.

A photograph has its own axes: origin at its top-left corner, x to the right, y down, whole pixels.
The record keeps places on it in whole tenths of a millimetre (`_dmm`) from that corner. One scale
for the whole picture is true in one plane only: what lies nearer to the camera is measured too
large, what lies farther away or turned from it too small.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isqrt

from planning.atlas.locate import Location, NotOnFace, locate
from planning.atlas.measurements import FRONT, MEASUREMENTS
from planning.vocabulary import Jaw, View

SHORTEST_DMM = 50
LONGEST_DMM = 4_000
"""Distances that can be known on a face, 5 mm to 400 mm: a choice of this chart, no source."""

LARGEST_PICTURE_DMM = 20_000
"""A picture that would show more than 2 m of the patient was calibrated wrongly: our choice."""


class CalibrationError(ValueError):
    """The two points and the distance give no scale; the text says what to do."""


@dataclass(frozen=True)
class Calibration:
    """
    Two points of a photograph in whole pixels, and their distance in tenths of a millimetre.

    Raises:
        CalibrationError: the points are equal, or the distance is not one on a face.
    """

    x1: int
    y1: int
    x2: int
    y2: int
    distance_dmm: int

    def __post_init__(self) -> None:
        for value in (self.x1, self.y1, self.x2, self.y2, self.distance_dmm):
            if isinstance(value, bool) or not isinstance(value, int):
                raise TypeError(f"pixels and tenths of a millimetre are whole, got {value!r}")
        if not self._square:
            raise CalibrationError("Both points are at the same place. Move them apart.")
        if not SHORTEST_DMM <= self.distance_dmm <= LONGEST_DMM:
            raise CalibrationError(
                f"{self.distance_dmm / 10:g} mm is not a distance on a face. Give one from "
                f"{SHORTEST_DMM // 10} to {LONGEST_DMM // 10} mm."
            )

    @property
    def _square(self) -> int:
        """The points' distance in pixels, squared."""
        return (self.x2 - self.x1) ** 2 + (self.y2 - self.y1) ** 2

    @property
    def pixels_per_mm(self) -> float:
        return float(self._square**0.5 * 10 / self.distance_dmm)

    def to_dmm(self, pixels: int) -> int:
        """A length in pixels as tenths of a millimetre: the nearest whole one, halves outwards."""
        return _rooted(pixels, self.distance_dmm**2, self._square)

    def to_pixels(self, length_dmm: int) -> int:
        """The other way round: the nearest whole pixel, halves outwards."""
        return _rooted(length_dmm, self._square, self.distance_dmm**2)

    def check_picture(self, width: int, height: int) -> None:
        """
        Whether the scale fits a picture of this size in pixels.

        Raises:
            CalibrationError: a point lies outside, or the picture would be metres wide.
        """
        for x, y in ((self.x1, self.y1), (self.x2, self.y2)):
            if not (0 <= x < width and 0 <= y < height):
                raise CalibrationError("A point lies outside the picture. Move it inside.")
        if self.to_dmm(max(width, height)) > LARGEST_PICTURE_DMM:
            raise CalibrationError(
                "With these two points the picture would show more than 2 m. Put them farther "
                "apart, or check the distance."
            )


def _rooted(value: int, over: int, under: int) -> int:
    """`value * sqrt(over / under)` as the nearest integer, without a float on the way."""
    size = (isqrt(4 * value * value * over // under) + 1) // 2
    return size if value >= 0 else -size


def chart_place(calibration: Calibration, x_dmm: int, y_dmm: int) -> tuple[int, int]:
    """
    Where a place of a photograph lies on the front chart, if both points are the pupils.

    A turn, a scale and a shift bring the pupil on the viewer's left to the chart's right pupil and
    the other one to the left pupil; the photograph shows the face from the front, not mirrored.

    Args:
        x_dmm, y_dmm: tenths of a millimetre from the photograph's top-left corner.

    Returns:
        (x_dmm, y_dmm) on the front chart. Good enough to suggest a region, not to measure.
    """
    points = sorted([(calibration.x1, calibration.y1), (calibration.x2, calibration.y2)])
    right, left = complex(*points[0]), complex(*points[1])
    pupil = FRONT["pupil"]
    half_dmm = MEASUREMENTS["pupil-pupil"].mean_dmm / 2
    here = complex(x_dmm, y_dmm) * calibration.pixels_per_mm / 10
    turned = (here - (right + left) / 2) * (2 * half_dmm / (left - right))
    return round(turned.real), round(turned.imag + pupil.y_mm * 10)


def suggested(
    calibration: Calibration, x_dmm: int, y_dmm: int, jaw: Jaw = Jaw.AVERAGE
) -> Location | None:
    """Region and side the front chart has at that place; None where it has none."""
    try:
        return locate(View.FRONT, *chart_place(calibration, x_dmm, y_dmm), jaw)
    except NotOnFace:
        return None

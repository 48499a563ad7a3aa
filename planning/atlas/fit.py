"""
Stretching the chart to a patient's own few measurements.

The chart is one average face. Three measures taken with a ruler or a caliper make it wider,
narrower, longer or shorter; they change how large it is shown, never where a point is kept: the
record holds chart millimetres. Nobody is graded by them.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from planning.atlas.measurements import MEASUREMENTS

LEAST_PERMILLE, MOST_PERMILLE = 700, 1300
"""
Farther from the chart's mean is taken for a slip of the pen: a choice of this chart. The widest
spread among the three measures is 5.8 % a standard deviation (between the pupils, ANSUR II women),
so 30 % is more than five of them.
"""


class MeasureError(ValueError):
    """A measure that cannot be a face's; the text says what to do."""


@dataclass(frozen=True)
class Fit:
    """
    How much larger the patient's face is than the chart's: thousandths across and down.

    Depth is not measured, so a profile is stretched downwards alone; neck, hands and photograph are
    not stretched at all.
    """

    x_permille: int = 1000
    y_permille: int = 1000


def fitted(
    *,
    pupil_dmm: int | None = None,
    face_height_dmm: int | None = None,
    face_width_dmm: int | None = None,
) -> Fit:
    """
    The fit of a patient's measures, all in tenths of a millimetre, each left out if not taken.

    Args:
        pupil_dmm: between the pupils; gives the width where the face's own was not measured.
        face_height_dmm: nasion to gnathion (n-gn).
        face_width_dmm: zygion to zygion (zy-zy).

    Raises:
        MeasureError: one of them, whether used or not, is more than 30 % off the chart's mean.
    """
    width = _ratio("zy-zy", "face width", face_width_dmm)
    pupils = _ratio("pupil-pupil", "distance between the pupils", pupil_dmm)
    height = _ratio("n-gn", "face height", face_height_dmm)
    return Fit(x_permille=width or pupils or 1000, y_permille=height or 1000)


def _ratio(key: str, name: str, measure_dmm: int | None) -> int | None:
    """Thousandths of the chart's mean, None for a measure that was not taken."""
    if measure_dmm is None:
        return None
    mean = MEASUREMENTS[key].mean_dmm
    ratio = round(Fraction(measure_dmm * 1000, mean))
    if not LEAST_PERMILLE <= ratio <= MOST_PERMILLE:
        least, most = (-(-mean * LEAST_PERMILLE // 1000), mean * MOST_PERMILLE // 1000)
        raise MeasureError(
            f"A {name} of {measure_dmm / 10:g} mm is more than 30 % away from the chart's "
            f"{mean / 10:g} mm. Measure again, in millimetres: {least / 10:g} to {most / 10:g} can "
            "be shown. Leave it empty to use the chart as it is."
        )
    return ratio

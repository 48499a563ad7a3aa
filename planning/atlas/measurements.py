"""
The measurements the chart is built on, and where each landmark comes from.

One average adult outline. The base is the mean of women in one published series, because one face
must be chosen; the chart is a drawing aid, not the patient, and grades nobody.

Axes: origin at nasion, y down, millimetres. Front and neck view: x to the viewer's right, which is
the patient's left. Side view (right side shown, looking to the viewer's right): x forward. Hands:
origin between the wrists, y towards the fingertips; the backs of the hands as they lie on a table
before the injector, the patient's right hand on the left. One unit of the drawing is one
millimetre.

Marks on sources: READ (text or table read), DATA (computed from the named open data), MEMORY
(recalled, not verified), ARITHMETIC (worked out from other rows), LAYOUT (a drawing choice).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from planning.atlas.geometry import Point

CHART_VERSION = "1"


class Mark(StrEnum):
    """How far a number may be trusted."""

    READ = "read"
    WEAK = "read, weak"
    DATA = "data"
    MEMORY = "memory"
    ARITHMETIC = "arithmetic"
    LAYOUT = "layout"


HANDBOOK = "Farkas, Anthropometry of the Head and Face, 2nd ed. 1994, appendix A (young women)"
HAND_SURVEY = "ANSUR II 2012 (Gordon et al. 2014, NATICK/TR-15/007), women, recalled"
CHOICE = "a drawing choice, head upright; no source"
ANSUR = "ANSUR II 2012 public data (Gordon et al. 2014, NATICK/TR-15/007), women"


@dataclass(frozen=True)
class Measurement:
    """A published mean. `mean_dmm` and `sd_dmm` are whole tenths of a millimetre."""

    key: str
    name: str
    mean_dmm: int
    sd_dmm: int
    source: str
    mark: Mark

    @property
    def mm(self) -> float:
        return self.mean_dmm / 10


MEASUREMENTS: dict[str, Measurement] = {
    row.key: row
    for row in (
        Measurement("tr-n", "hairline to nasion", 630, 60, HANDBOOK, Mark.MEMORY),
        Measurement("n-gn", "face height", 1114, 48, HANDBOOK, Mark.MEMORY),
        Measurement("n-sn", "nose height", 506, 31, HANDBOOK, Mark.MEMORY),
        Measurement("sn-gn", "lower face height", 643, 40, HANDBOOK, Mark.MEMORY),
        Measurement("n-sto", "upper face height", 694, 32, HANDBOOK, Mark.MEMORY),
        Measurement("sto-gn", "mandible height", 434, 31, HANDBOOK, Mark.MEMORY),
        Measurement("ls-sto", "upper vermilion", 87, 13, HANDBOOK, Mark.MEMORY),
        Measurement("sto-li", "lower vermilion", 94, 15, HANDBOOK, Mark.MEMORY),
        Measurement("en-en", "between inner eye corners", 318, 23, HANDBOOK, Mark.MEMORY),
        Measurement("ex-ex", "between outer eye corners", 878, 32, HANDBOOK, Mark.MEMORY),
        Measurement("ps-pi", "height of the eye opening", 109, 12, HANDBOOK, Mark.MEMORY),
        Measurement("al-al", "nose width", 314, 20, HANDBOOK, Mark.MEMORY),
        Measurement("sn-prn", "nose tip protrusion", 197, 16, HANDBOOK, Mark.MEMORY),
        Measurement("ch-ch", "mouth width", 502, 35, HANDBOOK, Mark.MEMORY),
        Measurement("zy-zy", "face width", 1300, 46, HANDBOOK, Mark.MEMORY),
        Measurement("go-go", "jaw width", 945, 50, HANDBOOK, Mark.MEMORY),
        Measurement("ft-ft", "forehead width", 1115, 48, HANDBOOK, Mark.MEMORY),
        Measurement("sa-sba", "ear length", 590, 36, HANDBOOK, Mark.MEMORY),
        Measurement("pra-pa", "ear width", 335, 20, HANDBOOK, Mark.MEMORY),
        Measurement("pupil-pupil", "between the pupils", 617, 36, ANSUR, Mark.DATA),
        Measurement("t-v", "tragion to top of head", 1265, 66, ANSUR, Mark.DATA),
        Measurement("g-op", "head length", 1898, 75, ANSUR, Mark.DATA),
        Measurement("eu-eu", "head width", 1478, 52, ANSUR, Mark.DATA),
        Measurement("hand-length", "wrist to middle fingertip", 1790, 90, HAND_SURVEY, Mark.MEMORY),
        Measurement("hand-breadth", "across the knuckles", 790, 40, HAND_SURVEY, Mark.MEMORY),
        Measurement("palm-length", "wrist to middle finger", 1030, 55, HAND_SURVEY, Mark.MEMORY),
        Measurement("gn-jugulare", "chin to jugular notch", 840, 100, CHOICE, Mark.LAYOUT),
    )
}


@dataclass(frozen=True)
class Landmark:
    """
    A place on the drawing, patient's left side in front, right side in profile.

    `x_from` and `y_from` name the measurement (or the choice) that fixes each coordinate.
    """

    key: str
    name: str
    x_mm: float
    y_mm: float
    x_from: str
    y_from: str

    @property
    def at(self) -> Point:
        return (self.x_mm, self.y_mm)


# Heights such as n-sn are chords of the profile, not drops on the front view: with n-gn upright a
# point with chords a (to n) and b (to gn) lies at y = (a² - b² + d²) / 2d, x = sqrt(a² - y²).
_CHORDS = "chords n-sn, sn-gn, n-gn"
_STO_CHORDS = "chords n-sto, sto-gn, n-gn"


def _half(key: str) -> float:
    return MEASUREMENTS[key].mean_dmm / 20


def _on_chords(upper: str, lower: str) -> Point:
    """(x forward, y down) in mm of the profile point with these chords to nasion and gnathion."""
    a, b, d = MEASUREMENTS[upper].mm, MEASUREMENTS[lower].mm, MEASUREMENTS["n-gn"].mm
    y = (a * a - b * b + d * d) / (2 * d)
    return (round((a * a - y * y) ** 0.5, 1), round(y, 1))


_SN_X, _SN_Y = _on_chords("n-sn", "sn-gn")
_STO_X, _STO_Y = _on_chords("n-sto", "sto-gn")
_GN_Y = MEASUREMENTS["n-gn"].mm
_LS_Y = round(_STO_Y - MEASUREMENTS["ls-sto"].mm, 1)
_LI_Y = round(_STO_Y + MEASUREMENTS["sto-li"].mm, 1)

FRONT: dict[str, Landmark] = {
    row.key: row
    for row in (
        Landmark("tr", "trichion", 0, -MEASUREMENTS["tr-n"].mm, "midline", "tr-n"),
        Landmark("n", "nasion", 0, 0, "origin", "origin"),
        Landmark("sn", "subnasale", 0, _SN_Y, "midline", _CHORDS),
        Landmark("ls", "labiale superius", 0, _LS_Y, "midline", "ls-sto"),
        Landmark("sto", "stomion", 0, _STO_Y, "midline", _STO_CHORDS),
        Landmark("li", "labiale inferius", 0, _LI_Y, "midline", "sto-li"),
        Landmark("gn", "gnathion", 0, _GN_Y, "midline", "n-gn"),
        Landmark("en", "endocanthion", _half("en-en"), 9.6, "en-en", "layout"),
        Landmark("pupil", "pupil", _half("pupil-pupil"), 8.0, "pupil-pupil", "layout"),
        Landmark("ex", "exocanthion", _half("ex-ex"), 7.8, "ex-ex", "layout"),
        Landmark("al", "alare", _half("al-al"), _SN_Y - 4.6, "al-al", "layout"),
        Landmark("ch", "cheilion", _half("ch-ch"), _STO_Y, "ch-ch", _STO_CHORDS),
        Landmark("zy", "zygion", _half("zy-zy"), 36.0, "zy-zy", "layout"),
        Landmark("go", "gonion", _half("go-go"), _GN_Y - 22.4, "go-go", "layout"),
        Landmark("ft", "frontotemporale", _half("ft-ft"), -20.0, "ft-ft", "layout"),
    )
}

# Tip: on the chord sn-prn, rising a third of it (layout). Tragion: projected depths, see the
# arithmetic on t-n and t-sn with t-t 131.4 mm (the full depth would put the ear too far back).
PROFILE: dict[str, Landmark] = {
    row.key: row
    for row in (
        Landmark("tr", "trichion", -8.0, -MEASUREMENTS["tr-n"].mm, "layout", "tr-n"),
        Landmark("n", "nasion", 0, 0, "origin", "origin"),
        Landmark("prn", "pronasale", _SN_X + 18.6, _SN_Y - 6.5, "sn-prn", "layout"),
        Landmark("sn", "subnasale", _SN_X, _SN_Y, _CHORDS, _CHORDS),
        Landmark("sto", "stomion", _STO_X, _STO_Y, _STO_CHORDS, _STO_CHORDS),
        Landmark("ls", "labiale superius", 14.8, _LS_Y, "layout", "ls-sto"),
        Landmark("li", "labiale inferius", 11.2, _LI_Y, "layout", "sto-li"),
        Landmark("gn", "gnathion", 0, _GN_Y, "n-gn upright", "n-gn"),
        Landmark("t", "tragion", -86.0, 35.8, "t-n, t-sn projected", "t-n, t-sn projected"),
        Landmark("go", "gonion", -74.0, _GN_Y - 22.4, "layout", "layout"),
    )
}

# The neck view goes on where the front view ends: the same axes, the same chin.
NECK_FRONT: dict[str, Landmark] = {
    row.key: row
    for row in (
        FRONT["gn"],
        Landmark("prominence", "laryngeal prominence", 0, _GN_Y + 34, "midline", "layout"),
        Landmark(
            "jugulare",
            "jugular notch",
            0,
            round(_GN_Y + MEASUREMENTS["gn-jugulare"].mm, 1),
            "midline",
            "gn-jugulare",
        ),
    )
}

_MIDDLE_X = 76.0  # of the middle finger: as far from the midline as the thumb needs, layout
_RADIAL_X = 44.0
_PALM_Y = MEASUREMENTS["palm-length"].mm

HAND: dict[str, Landmark] = {
    row.key: row
    for row in (
        Landmark("wrist", "wrist crease", _MIDDLE_X, 0, "layout", "origin"),
        Landmark(
            "tip", "tip of the middle finger", _MIDDLE_X, MEASUREMENTS["hand-length"].mm,
            "layout", "hand-length",
        ),
        Landmark("web", "web of middle and ring finger", 86.2, _PALM_Y, "layout", "palm-length"),
        Landmark("radial", "knuckle of the index finger", _RADIAL_X, 82, "layout", "layout"),
        Landmark(
            "ulnar", "knuckle of the little finger",
            _RADIAL_X + MEASUREMENTS["hand-breadth"].mm, 82, "hand-breadth", "layout",
        ),
    )
}  # fmt: skip

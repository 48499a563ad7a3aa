"""
Amounts to compare a session with: usual filler per region, label totals of toxins per region.

A region that is not here has no figure, which is not the same as no limit; the session says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from planning.atlas.regions import Region
from planning.sources import (
    OTHER_TOXINS_GLABELLA,
    REGION_AMOUNTS,
    TOXIN_LABEL_TOTALS,
    TOXIN_PLATYSMA,
    Source,
)


class Per(Enum):
    """What a usual amount is counted for."""

    POINT = "a point"
    SIDE = "a side"
    SESSION = "a session, both sides"


@dataclass(frozen=True, slots=True)
class RegionRange:
    """
    Usual filler in one region, microlitres; `least_ul` is None where only one figure is taught.
    """

    region: Region
    per: Per
    most_ul: int
    least_ul: int | None = None
    source: Source = REGION_AMOUNTS


REGION_RANGES: dict[str, RegionRange] = {
    row.region: row
    for row in (
        RegionRange(Region.TEMPLE, Per.SIDE, 600, least_ul=500),
        RegionRange(Region.ZYGOMATIC, Per.POINT, 200),
        # The figure is for the base of the nose wing, which the atlas holds in this region.
        RegionRange(Region.NASOLABIAL, Per.POINT, 200),
        RegionRange(Region.MENTAL, Per.POINT, 200),
        # The figure is for the jaw angle.
        RegionRange(Region.PAROTID_MASSETERIC, Per.SIDE, 300),
    )
}


@dataclass(frozen=True, slots=True)
class LabelTotal:
    """Units one session of one toxin has in one region by its label, in centiunits, both sides."""

    toxin: str
    region: Region
    centiunits: int
    source: Source


ONABOTULINUM = "onabotulinumtoxina"
TOXINS = (ONABOTULINUM, "incobotulinumtoxina", "prabotulinumtoxina", "abobotulinumtoxina")

LABEL_TOTALS: dict[tuple[str | None, str], LabelTotal] = {
    (row.toxin, row.region): row
    for row in (
        LabelTotal(ONABOTULINUM, Region.GLABELLA, 2_000, TOXIN_LABEL_TOTALS),
        LabelTotal(ONABOTULINUM, Region.LATERAL_CANTHAL, 2_400, TOXIN_LABEL_TOTALS),
        LabelTotal(ONABOTULINUM, Region.FOREHEAD, 2_000, TOXIN_LABEL_TOTALS),
        LabelTotal(ONABOTULINUM, Region.NECK, 3_600, TOXIN_PLATYSMA),
        LabelTotal("incobotulinumtoxina", Region.GLABELLA, 2_000, OTHER_TOXINS_GLABELLA),
        LabelTotal("prabotulinumtoxina", Region.GLABELLA, 2_000, OTHER_TOXINS_GLABELLA),
        LabelTotal("abobotulinumtoxina", Region.GLABELLA, 5_000, OTHER_TOXINS_GLABELLA),
    )
}


COUNTED_WITH: dict[str, Region] = {
    Region.STERNOCLEIDOMASTOID: Region.NECK,
    Region.LATERAL_CERVICAL: Region.NECK,
}
"""
Regions of the neck view that the front view has in one: a total for the neck counts points of
either view.
"""


def toxin_named_in(text: str) -> str | None:
    """
    The generic toxin a product's name or substance mentions, None if none of those known here.
    """
    squeezed = "".join(text.casefold().split())
    return next((toxin for toxin in TOXINS if toxin in squeezed), None)

"""
Amounts to compare a session with: usual filler per region, label totals of toxins per region.

A region that is not here has no figure, which is not the same as no limit; the session says so.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from planning.atlas.guide import GuideEntry, Kind, Per, Use
from planning.atlas.regions import Region
from planning.atlas.usual import ONABOTULINUM, TOXINS, USUAL
from planning.sources import REGION_AMOUNTS, Source

__all__ = [
    "COUNTED_WITH",
    "LABEL_TOTALS",
    "ONABOTULINUM",
    "REGION_RANGES",
    "TOXINS",
    "LabelTotal",
    "Per",
    "RegionRange",
    "ranges_of",
    "toxin_named_in",
]


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


def ranges_of(entries: Iterable[GuideEntry]) -> dict[str, RegionRange]:
    """
    The usual filler of each region that an atlas has an amount for, by region.

    Of two amounts for one region the first one holds; the clinic's atlas refuses a second.
    """
    ranges: dict[str, RegionRange] = {}
    for entry in entries:
        is_filler = entry.kind is Kind.AMOUNT and entry.use is Use.FILLER
        if is_filler and entry.most is not None and entry.per is not None:
            found = RegionRange(entry.region, entry.per, entry.most, entry.least, entry.source)
            ranges.setdefault(entry.region, found)
    return ranges


REGION_RANGES: dict[str, RegionRange] = ranges_of(USUAL)
"""As supplied. The base of the nose wing lies in the nasolabial region, the jaw angle in the
parotideomasseteric one."""


@dataclass(frozen=True, slots=True)
class LabelTotal:
    """Units one session of one toxin has in one region by its label, in centiunits, both sides."""

    toxin: str
    region: Region
    centiunits: int
    source: Source


LABEL_TOTALS: dict[tuple[str | None, str], LabelTotal] = {
    (entry.substance, entry.region): LabelTotal(
        entry.substance, entry.region, entry.most, entry.source
    )
    for entry in USUAL
    if entry.use is Use.TOXIN and entry.most is not None
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

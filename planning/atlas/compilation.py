"""
`GUIDE`: all that comes with the tool about each region, before the clinic has its say.

Planes, techniques and amounts from `usual`, cautions from `cautions`, and the vessels whose drawn
course passes through a region from `vessels`: derived, so that nothing is said twice.
"""

from __future__ import annotations

import hashlib
from functools import lru_cache

from planning.atlas.cautions import CAUTIONS, Caution
from planning.atlas.guide import GuideEntry, Kind, Use
from planning.atlas.locate import NotOnFace, locate
from planning.atlas.measurements import Mark
from planning.atlas.nearness import vessel_lines
from planning.atlas.overlays import Vessel
from planning.atlas.region_map import DRAWN_VIEWS
from planning.atlas.regions import Region
from planning.atlas.usual import USUAL
from planning.sources import Confidence, Source
from planning.vocabulary import Jaw, View

CONFIDENCE_OF: dict[Mark, Confidence] = {
    Mark.READ: Confidence.PUBLISHED,
    Mark.DATA: Confidence.PUBLISHED,
    # Read on a page that names no paper.
    Mark.WEAK: Confidence.SECOND_HAND,
    Mark.MEMORY: Confidence.MEMORY,
    # Worked out from published means, but nobody published the result.
    Mark.ARITHMETIC: Confidence.SECOND_HAND,
    Mark.LAYOUT: Confidence.COMMON_PRACTICE,
}
"""How far the chart's marks are trusted, in the words of the sources."""


@lru_cache(maxsize=1)
def guide() -> tuple[GuideEntry, ...]:
    """Every supplied entry, each key once. Which regions a vessel crosses is read off the chart."""
    return (*USUAL, *_structures(), *_cautions())


@lru_cache(maxsize=1)
def supplied() -> dict[str, GuideEntry]:
    """The same by key."""
    return {entry.key: entry for entry in guide()}


def _cautions() -> tuple[GuideEntry, ...]:
    return tuple(
        GuideEntry(
            _caution_key(region, caution),
            region,
            Kind.CAUTION,
            Use.ANY,
            _source(
                caution.source,
                f"as compiled; the caution level, {caution.level.label.lower()}, is an opinion",
                caution.confidence,
            ),
            text=caution.text,
        )
        for region, cautions in CAUTIONS.items()
        for caution in cautions
    )


def _source(title: str, detail: str, mark: Mark) -> Source:
    confidence = CONFIDENCE_OF[mark]
    # The confidence says it; said twice it would look like the name of a document.
    return Source("No document" if title == confidence.words else title, detail, confidence)


def _caution_key(region: Region, caution: Caution) -> str:
    """
    Made of its words: whoever replaced a caution meant these words, so once they are written anew
    the new ones show beside the clinic's.
    """
    return f"{region}.caution.{hashlib.sha256(caution.text.encode()).hexdigest()[:10]}"


def _structures() -> tuple[GuideEntry, ...]:
    return tuple(
        GuideEntry(
            f"{region}.structure.{vessel.key}",
            region,
            Kind.STRUCTURE,
            Use.ANY,
            _source(vessel.depth_source, f"course {vessel.source}", vessel.depth_mark),
            text=f"{vessel.name}. Usual depth: {vessel.depth[:1].lower()}{vessel.depth[1:]}.",
        )
        for region, vessels in _crossed().items()
        for vessel in vessels
    )


def _crossed() -> dict[Region, list[Vessel]]:
    """The vessels whose drawn line passes through each region, on any view, of an average jaw."""
    crossed: dict[Region, list[Vessel]] = {region: [] for region in Region}
    for view in DRAWN_VIEWS:
        if view is View.LEFT:  # the right one's mirror image
            continue
        for vessel, lines in vessel_lines(view, Jaw.AVERAGE):
            for region in _regions_along(view, lines):
                if vessel not in crossed[region]:
                    crossed[region].append(vessel)
    return crossed


def _regions_along(view: View, lines: tuple[tuple[tuple[int, int], ...], ...]) -> set[Region]:
    found = set()
    for x, y in (cell for line in lines for cell in line):
        try:
            found.add(locate(view, x, y).region)
        except NotOnFace:
            continue
    return found

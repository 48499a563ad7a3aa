"""
What is usually done in each region: planes, techniques and amounts as commonly taught, toxins as
their labels have them.

Common practice without a source is marked so. What nobody is known to have published is not
invented: a region without an entry of a kind leaves it to the clinic.
"""

from __future__ import annotations

from planning.atlas.guide import GuideEntry, Kind, Per, Use
from planning.atlas.regions import Region
from planning.sources import (
    OTHER_TOXINS_GLABELLA,
    REGION_AMOUNTS,
    REGION_TECHNIQUES,
    TOXIN_LABEL_SITES,
    TOXIN_LABEL_TOTALS,
    TOXIN_PLATYSMA,
    Source,
)
from planning.vocabulary import Plane, Technique

ONABOTULINUM = "onabotulinumtoxina"
TOXINS = (ONABOTULINUM, "incobotulinumtoxina", "prabotulinumtoxina", "abobotulinumtoxina")


def _done(name: str, region: Region, term: Plane | Technique, text: str = "") -> GuideEntry:
    kind = Kind.PLANE if isinstance(term, Plane) else Kind.TECHNIQUE
    key = f"{region}.{kind}.{name}"
    return GuideEntry(key, region, kind, Use.FILLER, REGION_TECHNIQUES, term=term, text=text)


def _filler(
    region: Region, per: Per, most_ul: int, text: str = "", least_ul: int | None = None
) -> GuideEntry:
    return GuideEntry(
        f"{region}.amount.filler",
        region,
        Kind.AMOUNT,
        Use.FILLER,
        REGION_AMOUNTS,
        text=text,
        least=least_ul,
        most=most_ul,
        per=per,
    )


def _toxin(
    toxin: str, region: Region, units: int, source: Source, least_units: int | None = None
) -> GuideEntry:
    return GuideEntry(
        f"{region}.amount.{toxin}",
        region,
        Kind.AMOUNT,
        Use.TOXIN,
        source,
        least=None if least_units is None else least_units * 100,
        most=units * 100,
        per=Per.SESSION,
        substance=toxin,
    )


def _hint(
    name: str, region: Region, text: str, use: Use = Use.FILLER, source: Source = REGION_TECHNIQUES
) -> GuideEntry:
    return GuideEntry(f"{region}.hint.{name}", region, Kind.HINT, use, source, text=text)


_FRONTAL = (Region.GLABELLA, Region.FOREHEAD)

USUAL: tuple[GuideEntry, ...] = (
    _done("bone", Region.TEMPLE, Plane.SUPRAPERIOSTEAL, "The needle perpendicular."),
    _filler(Region.TEMPLE, Per.SIDE, 600, least_ul=500),
    _hint("spot", Region.TEMPLE, "After aspiration, at a palpated spot free of vessels."),
    _done("fan", Region.ZYGOMATIC, Plane.SUBCUTANEOUS, "The fan in the medial third."),
    _done("bolus", Region.ZYGOMATIC, Technique.BOLUS, "Lateral, middle and medial third."),
    _done("fan", Region.ZYGOMATIC, Technique.FANNING, "The medial third, under the skin."),
    _filler(Region.ZYGOMATIC, Per.POINT, 200, "Three boluses along the zygoma, one in each third."),
    _done("bone", Region.INFRAORBITAL, Plane.SUPRAPERIOSTEAL, "The tear trough."),
    _done("bone", Region.NASOLABIAL, Plane.SUPRAPERIOSTEAL, "The base of the nose wing."),
    _filler(Region.NASOLABIAL, Per.POINT, 200, "The base of the nose wing."),
    _hint("alar", Region.NASOLABIAL, "At the base of the nose wing after aspiration."),
    _done("skin", Region.ORAL_COMMISSURE, Plane.SUBCUTANEOUS, "Superficial."),
    _done("fan", Region.ORAL_COMMISSURE, Technique.FANNING, "Retrograde."),
    _done("bone", Region.MENTAL, Plane.SUPRAPERIOSTEAL),
    _done("bolus", Region.MENTAL, Technique.BOLUS),
    _filler(Region.MENTAL, Per.POINT, 200),
    _hint("aspiration", Region.MENTAL, "After aspiration."),
    _done("bone", Region.PAROTID_MASSETERIC, Plane.SUPRAPERIOSTEAL, "The jaw angle."),
    _done("bolus", Region.PAROTID_MASSETERIC, Technique.BOLUS, "The needle perpendicular."),
    _filler(Region.PAROTID_MASSETERIC, Per.SIDE, 300, "The jaw angle."),
    _hint("aspiration", Region.PAROTID_MASSETERIC, "At the jaw angle after aspiration."),
    _toxin(ONABOTULINUM, Region.GLABELLA, 20, TOXIN_LABEL_TOTALS),
    _toxin("incobotulinumtoxina", Region.GLABELLA, 20, OTHER_TOXINS_GLABELLA),
    _toxin("prabotulinumtoxina", Region.GLABELLA, 20, OTHER_TOXINS_GLABELLA),
    _toxin("abobotulinumtoxina", Region.GLABELLA, 50, OTHER_TOXINS_GLABELLA),
    _toxin(ONABOTULINUM, Region.LATERAL_CANTHAL, 24, TOXIN_LABEL_TOTALS),
    _toxin(ONABOTULINUM, Region.FOREHEAD, 20, TOXIN_LABEL_TOTALS),
    _toxin(ONABOTULINUM, Region.NECK, 36, TOXIN_PLATYSMA, least_units=26),
    *(
        _hint(
            "sites",
            region,
            "OnabotulinumtoxinA by its label: 5 sites of 4 units each.",
            Use.TOXIN,
            TOXIN_LABEL_SITES,
        )
        for region in _FRONTAL
    ),
    _hint(
        "sites",
        Region.LATERAL_CANTHAL,
        "OnabotulinumtoxinA by its label: 6 sites of 4 units each, 3 on a side.",
        Use.TOXIN,
        TOXIN_LABEL_SITES,
    ),
)

"""The places that were treated or spoken of: BodyStructure, one a region and side."""

from collections.abc import Iterator

from planning.atlas.regions import NAMES, Region
from planning.vocabulary import Side
from records.interchange.parts import (
    Json,
    concept,
    own_coding,
    place_text,
    side_concept,
)
from records.interchange.references import References


def places(refs: References) -> Iterator[Json]:
    """
    Regions by the record's own words, with their Latin names as text: no list of SNOMED CT codes
    for the regions of this chart was at hand to name as their source.
    """
    for region, side in refs.pointed_at("BodyStructure"):
        yield _place(Region(region), side, refs)


def _place(region: Region, side: str, refs: References) -> Json:
    return {
        "resourceType": "BodyStructure",
        "id": refs.id_of("BodyStructure", f"{region}/{side}"),
        "active": True,
        "location": concept(region.full_label, own_coding("region", region)),
        "locationQualifier": [side_concept(Side(side))] if side else [],
        "description": ", ".join(filter(None, [place_text(region, side), NAMES[region].latin])),
        "patient": refs.patient,
    }

"""The clinic's face atlas: its own values over what is supplied. Each of these is one query."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from clinic.atlas.models import AtlasEntry
from planning.atlas.compilation import guide
from planning.atlas.guide import AtlasValue, Kind, Origin, merged, standing
from planning.atlas.region_groups import RegionGroup
from planning.atlas.regions import Region
from planning.reference_ranges import RegionRange, ranges_of


def whole_atlas() -> tuple[AtlasValue, ...]:
    """Every value of every region, those withdrawn as well."""
    return merged(guide(), (row.change for row in AtlasEntry.objects.all()))


def atlas_for(region: Region) -> tuple[AtlasValue, ...]:
    """The values of one region."""
    rows = AtlasEntry.objects.filter(region=region)
    supplied = (entry for entry in guide() if entry.region is region)
    return merged(supplied, (row.change for row in rows))


def holding(values: Iterable[AtlasValue]) -> tuple[AtlasValue, ...]:
    """Those that were not withdrawn."""
    return tuple(value for value in values if value.holds)


def usual_way(region: Region) -> dict[str, str]:
    """
    Plane, technique and instrument of a region, as far as the atlas names them: what a form may
    start from, and a person may change. Nothing where it names two of a kind, as a plane then goes
    with one of the techniques alone.
    """
    values = holding(atlas_for(region))
    terms = {
        kind: {value.entry.term for value in values if value.entry.kind is kind}
        for kind in (Kind.PLANE, Kind.TECHNIQUE, Kind.INSTRUMENT)
    }
    if any(len(named) > 1 for named in terms.values()):
        return {}
    return {kind.value: named.pop() for kind, named in terms.items() if named}


def region_ranges() -> Mapping[str, RegionRange]:
    """The usual filler of each region, as the clinic's atlas has it now."""
    return ranges_of(standing(whole_atlas()))


@dataclass(frozen=True)
class KindValues:
    """The values of one kind in one region; without any it is the clinic's to fill in."""

    kind: Kind
    values: tuple[AtlasValue, ...]


def by_kind(values: tuple[AtlasValue, ...]) -> list[KindValues]:
    """Every kind, those without a value as well."""
    return [
        KindValues(kind, tuple(value for value in values if value.entry.kind is kind))
        for kind in Kind
    ]


@dataclass(frozen=True)
class RegionLine:
    """A region in the list of all."""

    region: Region
    planes: str
    amounts: str
    own: int


def regions_by_part() -> list[tuple[RegionGroup, list[RegionLine]]]:
    """The list of all regions, with what is usual there in short."""
    values = whole_atlas()
    return [(part, [_line(region, values) for region in part.regions]) for part in RegionGroup]


def _line(region: Region, values: tuple[AtlasValue, ...]) -> RegionLine:
    here = [value for value in values if value.entry.region is region]
    holding = standing(here)
    return RegionLine(
        region,
        planes=", ".join(
            dict.fromkeys(entry.words for entry in holding if entry.kind is Kind.PLANE)
        ),
        amounts="; ".join(
            f"{toxin_label(entry.substance)} {entry.amount}"
            if entry.substance
            else f"{entry.use.label.lower()} {entry.words}"
            for entry in holding
            if entry.kind is Kind.AMOUNT
        ),
        own=sum(value.origin is not Origin.SUPPLIED for value in here),
    )  # fmt: skip


def toxin_label(key: str) -> str:
    """ "onabotulinumtoxina" -> "onabotulinumtoxinA", as generic names are written."""
    return f"{key[:-1]}A" if key.endswith("toxina") else key

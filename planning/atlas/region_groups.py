"""
Parts of the body that lists, rules and durations speak of, each a few regions of the chart.

The thirds of the face are common practice, no source: the upper third ends at the brows and the
corners of the eyes, the middle one at the base of the nose. The mouth is a part of its own, because
lips are treated and seen again by rules of their own.
"""

from __future__ import annotations

from planning.atlas.regions import Region
from planning.vocabulary import Term, View


class RegionGroup(Term):
    UPPER_FACE = "upper_face", "Upper face"
    MIDFACE = "midface", "Midface"
    LOWER_FACE = "lower_face", "Lower face"
    LIPS = "lips", "Lips and mouth"
    NECK = "neck", "Neck and décolleté"
    HANDS = "hands", "Hands"

    @property
    def regions(self) -> tuple[Region, ...]:
        """In the order of the chart, from the hairline down."""
        return tuple(region for region in Region if region in _REGIONS[self])

    @property
    def view(self) -> View:
        """The drawing that shows it best."""
        shown = {RegionGroup.NECK: View.NECK, RegionGroup.HANDS: View.HANDS}
        return shown.get(self, View.FRONT)


_REGIONS: dict[RegionGroup, frozenset[Region]] = {
    RegionGroup.UPPER_FACE: frozenset(
        {
            Region.FOREHEAD, Region.GLABELLA, Region.TEMPLE, Region.BROW, Region.ORBITAL,
            Region.LATERAL_CANTHAL,
        }
    ),
    RegionGroup.MIDFACE: frozenset(
        {
            Region.INFRAORBITAL, Region.ZYGOMATIC, Region.NASAL, Region.NASOLABIAL, Region.BUCCAL,
            Region.EAR,
        }
    ),
    RegionGroup.LOWER_FACE: frozenset(
        {Region.PAROTID_MASSETERIC, Region.MENTAL, Region.PREJOWL, Region.SUBMENTAL}
    ),
    RegionGroup.LIPS: frozenset({Region.UPPER_LIP, Region.LOWER_LIP, Region.ORAL_COMMISSURE}),
    RegionGroup.NECK: frozenset(
        {
            Region.NECK, Region.STERNOCLEIDOMASTOID, Region.LATERAL_CERVICAL,
            Region.JUGULAR_FOSSA, Region.PRESTERNAL, Region.INFRACLAVICULAR,
        }
    ),
    RegionGroup.HANDS: frozenset(
        {
            Region.WRIST, Region.METACARPAL_1, Region.METACARPAL_2, Region.METACARPAL_3,
            Region.METACARPAL_4, Region.METACARPAL_5, Region.DIGIT_1, Region.DIGIT_2,
            Region.DIGIT_3, Region.DIGIT_4, Region.DIGIT_5,
        }
    ),
}  # fmt: skip
_GROUP_OF = {region: group for group, regions in _REGIONS.items() for region in regions}


def group_of(region: Region) -> RegionGroup:
    """The part of the body a region belongs to; every region belongs to one."""
    return _GROUP_OF[region]

"""The regions by part of the body, as lists of regions are ordered."""

from __future__ import annotations

from planning.atlas.regions import Region
from planning.vocabulary import Term, View


class Part(Term):
    """A heading over some regions; the order is from the hairline down. A choice of this chart."""

    UPPER = "upper", "Upper face"
    MIDDLE = "middle", "Middle of the face"
    LOWER = "lower", "Lower face"
    NECK = "neck", "Neck and upper chest"
    HANDS = "hands", "Hands"

    @property
    def regions(self) -> tuple[Region, ...]:
        return PARTS[self]

    @property
    def view(self) -> View:
        """The drawing that shows it best."""
        return {Part.NECK: View.NECK, Part.HANDS: View.HANDS}.get(self, View.FRONT)


PARTS: dict[Part, tuple[Region, ...]] = {
    Part.UPPER: (
        Region.FOREHEAD,
        Region.GLABELLA,
        Region.TEMPLE,
        Region.BROW,
        Region.ORBITAL,
        Region.LATERAL_CANTHAL,
    ),
    Part.MIDDLE: (
        Region.INFRAORBITAL,
        Region.ZYGOMATIC,
        Region.NASAL,
        Region.NASOLABIAL,
        Region.BUCCAL,
        Region.PAROTID_MASSETERIC,
        Region.EAR,
    ),
    Part.LOWER: (
        Region.UPPER_LIP,
        Region.LOWER_LIP,
        Region.ORAL_COMMISSURE,
        Region.MENTAL,
        Region.PREJOWL,
        Region.SUBMENTAL,
    ),
    Part.NECK: (
        Region.NECK,
        Region.STERNOCLEIDOMASTOID,
        Region.LATERAL_CERVICAL,
        Region.JUGULAR_FOSSA,
        Region.PRESTERNAL,
        Region.INFRACLAVICULAR,
    ),
    Part.HANDS: (
        Region.WRIST,
        Region.METACARPAL_1,
        Region.METACARPAL_2,
        Region.METACARPAL_3,
        Region.METACARPAL_4,
        Region.METACARPAL_5,
        Region.DIGIT_1,
        Region.DIGIT_2,
        Region.DIGIT_3,
        Region.DIGIT_4,
        Region.DIGIT_5,
    ),
}


def part_of(region: Region) -> Part:
    return next(part for part, regions in PARTS.items() if region in regions)

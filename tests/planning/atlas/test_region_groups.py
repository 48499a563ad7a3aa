"""Every region of the chart belongs to one part of the body that rules can name."""

import pytest

from planning.atlas.region_groups import RegionGroup, group_of
from planning.atlas.regions import Region


def test_every_region_belongs_to_exactly_one_part() -> None:
    assert sorted(region for group in RegionGroup for region in group.regions) == sorted(Region)


@pytest.mark.parametrize("group", RegionGroup)
def test_each_part_has_the_regions_that_say_they_belong_to_it(group: RegionGroup) -> None:
    assert group.regions == tuple(region for region in Region if group_of(region) is group)


# Thirds of the face: common practice, no source.
@pytest.mark.parametrize(
    ("region", "group"),
    [
        (Region.GLABELLA, RegionGroup.UPPER_FACE),
        (Region.TEMPLE, RegionGroup.UPPER_FACE),
        (Region.INFRAORBITAL, RegionGroup.MIDFACE),
        (Region.NASOLABIAL, RegionGroup.MIDFACE),
        (Region.MENTAL, RegionGroup.LOWER_FACE),
        (Region.ORAL_COMMISSURE, RegionGroup.LIPS),
        (Region.PRESTERNAL, RegionGroup.NECK),
        (Region.DIGIT_1, RegionGroup.HANDS),
    ],
)
def test_a_region_lies_where_people_look_for_it(region: Region, group: RegionGroup) -> None:
    assert group_of(region) is group

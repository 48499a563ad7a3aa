"""Reads of the atlas."""

import pytest

from clinic.atlas.queries import usual_way
from planning.atlas.regions import Region

pytestmark = pytest.mark.django_db


def test_a_form_may_start_from_the_way_a_region_has_alone():
    """
    The temple is taught in one plane; the cheek as boluses and as a fan, whose plane is not the
    boluses' (common practice, no source).
    """
    assert usual_way(Region.TEMPLE) == {"plane": "supraperiosteal"}
    assert usual_way(Region.ZYGOMATIC) == {}
    assert usual_way(Region.EAR) == {}

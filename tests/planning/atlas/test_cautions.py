"""Cautions stand in every region and say where they come from."""

import pytest

from planning.atlas.cautions import CAUTIONS, LEVEL_BASIS, Level, cautions_for, level_of
from planning.atlas.regions import Region

HIGH = {Region.NASAL, Region.GLABELLA, Region.FOREHEAD}
RAISED = {
    Region.NASOLABIAL,
    Region.TEMPLE,
    Region.INFRAORBITAL,
    Region.UPPER_LIP,
    Region.LOWER_LIP,
    Region.ORAL_COMMISSURE,
}


@pytest.mark.parametrize("region", list(Region))
def test_the_level_follows_the_practice_s_own_table(region):
    expected = Level.HIGH if region in HIGH else Level.RAISED if region in RAISED else Level.PRESENT
    assert level_of(region) is expected


@pytest.mark.parametrize("region", list(Region))
def test_no_region_is_without_a_caution_and_each_has_its_source(region):
    # "There are no zero-risk areas": DeLorenzi 2017. Mark: read.
    assert cautions_for(region)
    for caution in CAUTIONS[region]:
        assert caution.text
        assert caution.source
        assert caution.confidence


@pytest.mark.parametrize(
    ("region", "share"),
    # Doyon 2024, Aesthet Surg J, 365 new cases. Mark: read.
    [(Region.NASAL, "40.6 %"), (Region.FOREHEAD, "27.7 %"), (Region.GLABELLA, "19.0 %")],
)
def test_the_published_share_of_reported_cases_is_quoted(region, share):
    assert any(share in caution.text for caution in cautions_for(region))


def test_two_series_that_disagree_are_both_shown_for_the_nasolabial_fold():
    sources = " ".join(caution.source for caution in cautions_for(Region.NASOLABIAL))
    assert "Yang 2014" in sources
    assert "2021;41:697" in sources


def test_the_level_is_labelled_as_an_opinion():
    assert "own opinion" in LEVEL_BASIS

"""
Region names against Terminologia Anatomica.

Latin and English of infraorbital, zygomatic and oral: read in lexicon pages; orbital, nasal,
buccal, parotideomasseteric and mental: read as English names. All other Latin: from memory.
"""

import pytest

from planning.atlas.measurements import Mark
from planning.atlas.regions import NAMES, Region


@pytest.mark.parametrize(
    ("region", "latin", "english"),
    [
        (Region.INFRAORBITAL, "regio infraorbitalis", "Infraorbital region"),  # read
        (Region.ZYGOMATIC, "regio zygomatica", "Zygomatic region"),  # read
        (Region.ORBITAL, "regio orbitalis", "Orbital region"),  # English read
        (Region.NASAL, "regio nasalis", "Nasal region"),  # English read
        (Region.BUCCAL, "regio buccalis", "Buccal region"),  # English read
        (Region.PAROTID_MASSETERIC, "regio parotideomasseterica", "Parotideomasseteric region"),
        (Region.MENTAL, "regio mentalis", "Mental region"),  # English read
        (Region.FOREHEAD, "regio frontalis", "Frontal region"),  # memory
        (Region.TEMPLE, "regio temporalis", "Temporal region"),  # memory
        (Region.EAR, "regio auricularis", "Auricular region"),  # memory
        (Region.NECK, "regio cervicalis anterior", "Anterior cervical region"),  # memory
        (Region.GLABELLA, "glabella", "Glabella"),  # memory
        (Region.NASOLABIAL, "sulcus nasolabialis", "Nasolabial fold"),  # memory
    ],
)
def test_region_carries_its_anatomical_name(region, latin, english):
    assert (NAMES[region].latin, region.label) == (latin, english)


def test_the_lips_and_the_mouth_corner_are_cut_from_the_oral_region():
    # "regio oralis": read. Its borders: nasal above, buccal at the sides, mental below.
    cut = {region for region in Region if NAMES[region].within == "regio oralis"}
    assert cut == {Region.UPPER_LIP, Region.LOWER_LIP, Region.ORAL_COMMISSURE}


def test_names_that_were_only_remembered_say_so():
    read = {region for region in Region if NAMES[region].mark is Mark.READ}
    assert read == {
        Region.INFRAORBITAL,
        Region.ZYGOMATIC,
        Region.ORBITAL,
        Region.NASAL,
        Region.BUCCAL,
        Region.PAROTID_MASSETERIC,
        Region.MENTAL,
    }


def test_every_region_has_a_trade_word_and_keys_never_collide():
    assert all(NAMES[region].trade for region in Region)
    assert len({region.value for region in Region}) == len(Region)
    assert Region.FOREHEAD.full_label == "Frontal region (forehead)"
    assert Region.UPPER_LIP.full_label == "Upper lip"

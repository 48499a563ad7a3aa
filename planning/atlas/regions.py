"""
Regions of the face, the neck and the hands: what they are called.

Each region carries the Latin and English name of Terminologia Anatomica where there is one, and the
trade's word. `where` tells whether the name is that of the region itself or of the larger region
(or structure) it is cut from.

Sources: the region names infraorbital, zygomatic and oral were read in lexicon pages; orbital,
nasal, buccal, parotideomasseteric and mental were read as English names; all other Latin is from
memory and marked so.
"""

from __future__ import annotations

from dataclasses import dataclass

from planning.atlas.measurements import Mark
from planning.vocabulary import Term


class Region(Term):
    """Stored key and the English name."""

    FOREHEAD = "forehead", "Frontal region"
    GLABELLA = "glabella", "Glabella"
    TEMPLE = "temple", "Temporal region"
    BROW = "brow", "Eyebrow"
    ORBITAL = "orbital", "Orbital region"
    LATERAL_CANTHAL = "lateral_canthal", "Lateral canthal region"
    INFRAORBITAL = "infraorbital", "Infraorbital region"
    ZYGOMATIC = "zygomatic", "Zygomatic region"
    NASAL = "nasal", "Nasal region"
    NASOLABIAL = "nasolabial", "Nasolabial fold"
    UPPER_LIP = "upper_lip", "Upper lip"
    LOWER_LIP = "lower_lip", "Lower lip"
    ORAL_COMMISSURE = "oral_commissure", "Angle of mouth"
    BUCCAL = "buccal", "Buccal region"
    PAROTID_MASSETERIC = "parotid_masseteric", "Parotideomasseteric region"
    MENTAL = "mental", "Mental region"
    PREJOWL = "prejowl", "Pre-jowl jawline"
    SUBMENTAL = "submental", "Submental triangle"
    NECK = "neck", "Anterior cervical region"
    EAR = "ear", "Auricular region"
    STERNOCLEIDOMASTOID = "sternocleidomastoid", "Sternocleidomastoid region"
    LATERAL_CERVICAL = "lateral_cervical", "Lateral cervical region"
    JUGULAR_FOSSA = "jugular_fossa", "Jugular fossa"
    PRESTERNAL = "presternal", "Presternal region"
    INFRACLAVICULAR = "infraclavicular", "Infraclavicular region"
    WRIST = "wrist", "Posterior carpal region"
    METACARPAL_1 = "metacarpal_1", "First metacarpal ray"
    METACARPAL_2 = "metacarpal_2", "Second metacarpal ray"
    METACARPAL_3 = "metacarpal_3", "Third metacarpal ray"
    METACARPAL_4 = "metacarpal_4", "Fourth metacarpal ray"
    METACARPAL_5 = "metacarpal_5", "Fifth metacarpal ray"
    DIGIT_1 = "digit_1", "Thumb"
    DIGIT_2 = "digit_2", "Index finger"
    DIGIT_3 = "digit_3", "Middle finger"
    DIGIT_4 = "digit_4", "Ring finger"
    DIGIT_5 = "digit_5", "Little finger"

    @property
    def full_label(self) -> str:
        """English name with the trade's word, as printed: 'Frontal region (forehead)'."""
        trade = NAMES[self].trade
        return self.label if trade.lower() == self.label.lower() else f"{self.label} ({trade})"


@dataclass(frozen=True)
class RegionName:
    """
    Names of one region.

    `latin` is None where the region is the trade's alone. `within` is the Latin name of the region
    it is cut from, None where it is a region of its own.
    """

    latin: str | None
    trade: str
    within: str | None
    mark: Mark


_ORAL, _ORBIT = "regio oralis", "regio orbitalis"
_BACK_OF_HAND = "dorsum manus"

NAMES: dict[Region, RegionName] = {
    Region.FOREHEAD: RegionName("regio frontalis", "forehead", None, Mark.MEMORY),
    Region.GLABELLA: RegionName("glabella", "frown lines", "regio frontalis", Mark.MEMORY),
    Region.TEMPLE: RegionName("regio temporalis", "temple", None, Mark.MEMORY),
    Region.BROW: RegionName("supercilium", "brow", _ORBIT, Mark.MEMORY),
    Region.ORBITAL: RegionName("regio orbitalis", "eye and lids", None, Mark.READ),
    Region.LATERAL_CANTHAL: RegionName(None, "crow's feet", _ORBIT, Mark.MEMORY),
    Region.INFRAORBITAL: RegionName("regio infraorbitalis", "tear trough", None, Mark.READ),
    Region.ZYGOMATIC: RegionName("regio zygomatica", "cheekbone", None, Mark.READ),
    Region.NASAL: RegionName("regio nasalis", "nose", None, Mark.READ),
    Region.NASOLABIAL: RegionName(
        "sulcus nasolabialis", "fold and base of the nose wing", "regio buccalis", Mark.MEMORY
    ),
    Region.UPPER_LIP: RegionName("labium superius oris", "upper lip", _ORAL, Mark.MEMORY),
    Region.LOWER_LIP: RegionName("labium inferius oris", "lower lip", _ORAL, Mark.MEMORY),
    Region.ORAL_COMMISSURE: RegionName("angulus oris", "marionette line", _ORAL, Mark.MEMORY),
    Region.BUCCAL: RegionName("regio buccalis", "cheek hollow", None, Mark.READ),
    Region.PAROTID_MASSETERIC: RegionName(
        "regio parotideomasseterica", "jaw angle", None, Mark.READ
    ),
    Region.MENTAL: RegionName("regio mentalis", "chin", None, Mark.READ),
    Region.PREJOWL: RegionName(None, "jawline", "regio mentalis", Mark.MEMORY),
    Region.SUBMENTAL: RegionName(
        "trigonum submentale", "under the chin", "regio cervicalis anterior", Mark.MEMORY
    ),
    Region.NECK: RegionName("regio cervicalis anterior", "neck", None, Mark.MEMORY),
    Region.EAR: RegionName("regio auricularis", "ear", None, Mark.MEMORY),
    Region.STERNOCLEIDOMASTOID: RegionName(
        "regio sternocleidomastoidea", "side band of the neck", None, Mark.MEMORY
    ),
    Region.LATERAL_CERVICAL: RegionName(
        "regio cervicalis lateralis", "side of the neck", None, Mark.MEMORY
    ),
    Region.JUGULAR_FOSSA: RegionName(
        "fossa jugularis", "suprasternal notch", "regio cervicalis anterior", Mark.MEMORY
    ),
    Region.PRESTERNAL: RegionName(
        "regio presternalis", "middle of the décolleté", None, Mark.MEMORY
    ),
    Region.INFRACLAVICULAR: RegionName(
        "fossa infraclavicularis", "décolleté", "regio pectoralis", Mark.MEMORY
    ),
    Region.WRIST: RegionName("regio carpalis posterior", "back of the wrist", None, Mark.MEMORY),
    Region.METACARPAL_1: RegionName(None, "hand, thumb ray", _BACK_OF_HAND, Mark.MEMORY),
    Region.METACARPAL_2: RegionName(None, "hand, index ray", _BACK_OF_HAND, Mark.MEMORY),
    Region.METACARPAL_3: RegionName(None, "hand, middle ray", _BACK_OF_HAND, Mark.MEMORY),
    Region.METACARPAL_4: RegionName(None, "hand, ring ray", _BACK_OF_HAND, Mark.MEMORY),
    Region.METACARPAL_5: RegionName(None, "hand, little ray", _BACK_OF_HAND, Mark.MEMORY),
    Region.DIGIT_1: RegionName("pollex", "thumb", "digiti manus", Mark.MEMORY),
    Region.DIGIT_2: RegionName("index", "index finger", "digiti manus", Mark.MEMORY),
    Region.DIGIT_3: RegionName("digitus medius", "middle finger", "digiti manus", Mark.MEMORY),
    Region.DIGIT_4: RegionName("digitus anularis", "ring finger", "digiti manus", Mark.MEMORY),
    Region.DIGIT_5: RegionName("digitus minimus", "little finger", "digiti manus", Mark.MEMORY),
}

MIDLINE_REGIONS: frozenset[Region] = frozenset(
    {
        Region.FOREHEAD,
        Region.GLABELLA,
        Region.NASAL,
        Region.UPPER_LIP,
        Region.LOWER_LIP,
        Region.MENTAL,
        Region.SUBMENTAL,
        Region.NECK,
        Region.JUGULAR_FOSSA,
        Region.PRESTERNAL,
    }
)
"""Regions that cross the midline in the front and the neck view; all others come in pairs."""

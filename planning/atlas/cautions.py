"""
What to be careful of in each region, in this project's own words.

The level is the practice's own opinion, built on the sites of reported cases of vision loss; it is
not a published grading, and no region is free of risk. Advice never replaces licensed judgement:
local codes and licensed practice come first. Numbers describe groups of heads, not this patient.
"""

from __future__ import annotations

from dataclasses import dataclass

from planning.atlas.measurements import Mark
from planning.atlas.regions import Region
from planning.vocabulary import Term


class Level(Term):
    """How loudly the page speaks; the practice's own opinion."""

    HIGH = "high", "High"
    RAISED = "raised", "Raised"
    PRESENT = "present", "Present"


LEVEL_BASIS = (
    "The practice's own opinion, built on where reported vision loss began: nose, glabella, "
    "forehead and nasolabial fold lead the counts (Beleznay 2015 and 2019, Doyon 2024). These are "
    "shares of reported cases, not risks per injection."
)


@dataclass(frozen=True)
class Caution:
    text: str
    level: Level
    source: str
    confidence: Mark


_CASES = "Doyon 2024, Aesthet Surg J: 365 cases, Sept 2018 to March 2023"
_CT_FACIAL = "Aesthet Surg J 2021;41:697, CT of 150 adults"
_YANG = "Yang 2014, Plast Reconstr Surg, 60 half faces"
_MEMORY = "from memory, not checked"


def _high(text: str, source: str, confidence: Mark = Mark.READ) -> Caution:
    return Caution(text, Level.HIGH, source, confidence)


def _raised(text: str, source: str, confidence: Mark = Mark.READ) -> Caution:
    return Caution(text, Level.RAISED, source, confidence)


def _present(text: str, source: str, confidence: Mark = Mark.READ) -> Caution:
    return Caution(text, Level.PRESENT, source, confidence)


_DETOUR = _raised(
    "A branch of the facial artery takes a detour through this area in about 3 of 10 half faces.",
    _YANG,
)

_DORSAL_VEINS = _present(
    "The dorsal venous network lies between the skin and the tendons.", _MEMORY, Mark.MEMORY
)
_TENDONS = _present(
    "The extensor tendons run in their sheaths right under the deepest layer of fat.",
    _MEMORY,
    Mark.MEMORY,
)
_DIGITAL = _present(
    "Thin skin over the extensor hood; digital arteries and nerves run along both sides.",
    _MEMORY,
    Mark.MEMORY,
)
_RAYS = (Region.METACARPAL_2, Region.METACARPAL_3, Region.METACARPAL_4, Region.METACARPAL_5)
_DIGITS = (Region.DIGIT_1, Region.DIGIT_2, Region.DIGIT_3, Region.DIGIT_4, Region.DIGIT_5)

CAUTIONS: dict[Region, tuple[Caution, ...]] = {
    Region.FOREHEAD: (
        _high("27.7 % of newly reported cases of vision loss began here.", _CASES),
        _high(
            "The supraorbital and supratrochlear arteries grow more superficial on their way up.",
            "meta-analysis, Folia Morphol 2025",
        ),
    ),
    Region.GLABELLA: (
        _high("19.0 % of newly reported cases of vision loss began here.", _CASES),
        _high(
            "Arteries at about 5, 8, 15 and 19 mm from the midline; a branch on the bone in 71 %, "
            "so staying on bone is not a protection.",
            "Clin Anat 2020;33:370-382",
        ),
    ),
    Region.TEMPLE: (
        _raised(
            "Superficial temporal, zygomatico-orbital and deep temporal arteries; the middle "
            "temporal vein runs 2.0 to 2.8 cm above the arch.",
            "CT of 200, Aesthetic Plast Surg",
        ),
        _raised(
            "The point 1 cm up and 1 cm over is not free of vessels: a deep temporal artery lies "
            "there in over 30 %.",
            "practice page without a named paper",
            Mark.WEAK,
        ),
    ),
    Region.BROW: (
        _present(
            "The supraorbital bundle leaves the rim about 23 to 25 mm from the midline.",
            "Cutright 2003; skull series of 124 and 106",
        ),
    ),
    Region.ORBITAL: (
        _present(
            "Branches of the ophthalmic artery surround the lids; small volumes are enough to "
            "block them.",
            "cadaver study, 29 heads: about 0.04 mL; Aesthet Surg J 2023;43:1025: 0.16 ± 0.05 mL. "
            "The two disagree; no safe bolus follows",
        ),
    ),
    Region.LATERAL_CANTHAL: (
        _present("Zygomatico-orbital branches and superficial veins.", _MEMORY, Mark.MEMORY),
    ),
    Region.INFRAORBITAL: (
        _raised(
            "The infraorbital bundle leaves the bone about 27 mm from the midline, 6 to 9 mm below "
            "the rim; the angular artery lies medially.",
            "Cutright 2003; skull series of 124 and 106",
        ),
        _DETOUR,
    ),
    Region.ZYGOMATIC: (
        _present(
            "Zygomaticofacial vessels and branches of the transverse facial artery.",
            _MEMORY,
            Mark.MEMORY,
        ),
    ),
    Region.NASAL: (
        _high("40.6 % of newly reported cases of vision loss began here.", _CASES),
        _high(
            "Dorsal nasal, lateral nasal and angular arteries are mostly superficial, in some deep "
            "at the root and mid-dorsum.",
            "book chapter, extract",
        ),
    ),
    Region.NASOLABIAL: (
        _raised(
            "The facial artery crosses the fold in 33.9 % and lies within 5 mm of it in 42.9 %.",
            _YANG,
        ),
        _raised(
            "By CT it ran lateral to the fold in all, 21.6 mm deep at the mouth corner and 8.9 mm "
            "at the ala. The two series disagree: there is no safe line.",
            _CT_FACIAL,
        ),
    ),
    Region.UPPER_LIP: (
        _raised(
            "Superior labial artery about 5.6 mm deep: submucosal in most, in the muscle in about "
            "a third, just under the skin in a few; at the midline it lies in the red lip.",
            "Aesthet Surg J 2020;40:1327, 41 volunteers",
        ),
    ),
    Region.LOWER_LIP: (
        _raised(
            "Inferior labial artery about 4 to 5 mm deep; its course changed in 32 % of "
            "lower lips.",
            "Aesthet Surg J 2020;40:1327; Clin Anat 2020;33:158; Cotofana 2017, "
            "Plast Reconstr Surg",
        ),
    ),
    Region.ORAL_COMMISSURE: (
        _raised(
            "The facial artery passes about 13.5 mm lateral to the mouth corner and gives off the "
            "labial arteries here.",
            f"{_YANG}; Plast Reconstr Surg 2015;135:445",
        ),
    ),
    Region.BUCCAL: (
        _present(
            "The facial artery lies exposed 20 to 25 mm lateral to the mouth corner in 82 %, about "
            "7.6 mm deep.",
            "Clin Anat 2020;33:257-264",
        ),
    ),
    Region.PAROTID_MASSETERIC: (
        _present(
            "The facial artery crosses the jaw at the front edge of the masseter; parotid duct and "
            "facial nerve branches run through.",
            _MEMORY,
            Mark.MEMORY,
        ),
    ),
    Region.MENTAL: (
        _present("Submental and mental arteries.", _MEMORY, Mark.MEMORY),
        _present(
            "The mental bundle leaves the bone about 20 mm below and 3 mm medial to the "
            "mouth corner.",
            "50 cadavers",
        ),
    ),
    Region.PREJOWL: (
        _present(
            "The facial artery crosses the jaw at the front edge of the masseter.",
            _MEMORY,
            Mark.MEMORY,
        ),
    ),
    Region.SUBMENTAL: (
        _present("Submental artery and marginal mandibular nerve.", _MEMORY, Mark.MEMORY),
    ),
    Region.NECK: (
        _present(
            "External and anterior jugular veins lie just under platysma.", _MEMORY, Mark.MEMORY
        ),
    ),
    Region.STERNOCLEIDOMASTOID: (
        _present(
            "The external jugular vein crosses the muscle just under platysma; behind its middle "
            "the cutaneous nerves of the neck come up.",
            _MEMORY,
            Mark.MEMORY,
        ),
    ),
    Region.LATERAL_CERVICAL: (
        _present(
            "External jugular vein and, close under the skin, the accessory nerve; above the "
            "collar bone subclavian vessels and the top of the lung.",
            _MEMORY,
            Mark.MEMORY,
        ),
    ),
    Region.JUGULAR_FOSSA: (
        _present(
            "The anterior jugular veins are joined by the jugular arch here, in front of the "
            "windpipe.",
            _MEMORY,
            Mark.MEMORY,
        ),
    ),
    Region.PRESTERNAL: (
        _present(
            "Thin skin on the breastbone; perforating branches of the internal thoracic artery "
            "come up beside it. Scars here tend to grow.",
            _MEMORY,
            Mark.MEMORY,
        ),
    ),
    Region.INFRACLAVICULAR: (
        _present(
            "Cephalic vein in its groove; subclavian vessels and the lung lie deep.",
            _MEMORY,
            Mark.MEMORY,
        ),
    ),
    Region.WRIST: (
        _present(
            "Dorsal veins, the superficial branch of the radial nerve and the extensor tendons "
            "lie just under thin skin.",
            _MEMORY,
            Mark.MEMORY,
        ),
    ),
    Region.METACARPAL_1: (
        _present(
            "The radial artery turns through the hollow between the thumb's tendons into the "
            "first web.",
            _MEMORY,
            Mark.MEMORY,
        ),
    ),
    **dict.fromkeys(_RAYS, (_DORSAL_VEINS, _TENDONS)),
    **dict.fromkeys(_DIGITS, (_DIGITAL,)),
    Region.EAR: (
        _present("Posterior auricular and superficial temporal branches.", _MEMORY, Mark.MEMORY),
    ),
}

_ORDER = (Level.HIGH, Level.RAISED, Level.PRESENT)


def cautions_for(region: Region) -> tuple[Caution, ...]:
    """Every region has at least one: there are no areas without risk (DeLorenzi 2017)."""
    return CAUTIONS[region]


def level_of(region: Region) -> Level:
    """The loudest level among the region's cautions."""
    return min((caution.level for caution in CAUTIONS[region]), key=_ORDER.index)

"""
The texts that come with the program: a start, in our own words, to be adapted by each clinic.

A clinic's own version takes their place for good; see `records.consents.queries.text_in_force`.
"""

from typing import NamedTuple

from planning.consents import ConsentKind
from planning.sources import (
    DELAYED_NODULES,
    HYALURONIDASE_ACTION,
    OCCLUSION_RATE,
    SIGHT_AFTER_FILLER,
    STING_ALLERGY,
    TOXIN_DURATION,
    TOXIN_SPREAD,
    Confidence,
)

ADAPT = (
    "Adapt each text to your local law, to the instructions of the products you use and to what "
    "your insurer asks for, and have it read by somebody who advises you on both."
)


class Risk(NamedTuple):
    """One statement that is read and ticked, and where its figures come from."""

    words: str
    source: str


class Wording(NamedTuple):
    """A text as the owner writes it; `valid_days` from the day it is given."""

    title: str
    body: str
    valid_days: int
    risks: tuple[Risk, ...]


_USUAL = Confidence.COMMON_PRACTICE.label
YEAR, TWO_YEARS = 365, 730

SUPPLIED: dict[ConsentKind, Wording] = {
    ConsentKind.TOXIN: Wording(
        "Treatment with a botulinum toxin",
        "A small amount of a toxin is injected where muscles are to rest. The effect comes over "
        "some days and wears off by itself; for lines between the brows it lasts about 3 to 4 "
        f"months (source: {TOXIN_DURATION.title}). To keep it, the treatment is repeated.\n\n"
        "The alternatives are other treatments, or none: nothing happens to your health if you "
        "leave it. You can say no at any time, also while you are being treated.",
        YEAR,
        (
            Risk("The skin can be red, swollen, sore or bruised, and my head can ache.", _USUAL),
            Risk(
                "The result can be uneven, too weak or too strong. It cannot be taken back: it "
                "wears off.",
                _USUAL,
            ),
            Risk("A brow or an eyelid can droop, or a smile be uneven, for weeks.", _USUAL),
            Risk(
                "Hours to weeks later the toxin can act elsewhere: weakness, a drooping lid, "
                "double vision, trouble swallowing, speaking or breathing. I then seek medical "
                "help at once.",
                str(TOXIN_SPREAD),
            ),
            Risk("An allergic reaction is possible, in rare cases a severe one.", _USUAL),
            Risk(
                "I have said whether I am pregnant or breastfeeding, have a disease of nerves or "
                "muscles, or take other medicines.",
                _USUAL,
            ),
        ),
    ),
    ConsentKind.FILLER: Wording(
        "Treatment with a filler",
        "A gel or another filler is injected to give back volume or to shape. The effect shows at "
        "once, settles over some weeks, and lasts for months or longer, by product and place.\n\n"
        "The alternatives are other treatments, or none: nothing happens to your health if you "
        "leave it. You can say no at any time, also while you are being treated.",
        YEAR,
        (
            Risk("The skin can be red, swollen, sore or bruised for days.", _USUAL),
            Risk("There can be lumps, unevenness or a result that I do not like.", _USUAL),
            Risk(
                "The skin can become infected, and cold sores can come back, also weeks later.",
                _USUAL,
            ),
            Risk(
                "Filler can block a vessel: in a survey about 1 of 6,410 syringes by needle and 1 "
                "of 40,882 by cannula. Skin can die and leave a scar. Pain, a pale or mottled "
                "patch: I call at once, day or night.",
                str(OCCLUSION_RATE),
            ),
            Risk(
                "In very rare cases sight is lost, and of 318 people whose outcome is known 68.2 % "
                "did not get it back. If my sight changes I call the emergency services.",
                str(SIGHT_AFTER_FILLER),
            ),
            Risk(
                "Nodules can come months later: in one study in 0.5 % of patients, in half of them "
                "later than 4 months.",
                str(DELAYED_NODULES),
            ),
            Risk(
                "Hyaluronic acid can be dissolved by another injection; other fillers cannot.",
                _USUAL,
            ),
        ),
    ),
    ConsentKind.HYALURONIDASE: Wording(
        "Dissolving a filler with hyaluronidase, without an emergency",
        "Hyaluronidase is an enzyme that dissolves hyaluronic acid. It is injected where filler is "
        "to be made less. It acts over 24 to 48 hours (source: "
        f"{HYALURONIDASE_ACTION.title}), and it may take more than one sitting.\n\n"
        "The alternatives are to wait until the filler is taken up, or none. You can say no at any "
        "time. In an emergency the practitioner treats first and explains on the way.",
        90,
        (
            Risk("The skin can be red, swollen, sore or bruised.", _USUAL),
            Risk(
                "Allergic reactions are possible, in rare cases a severe one. I have said whether "
                "I react to wasp or bee stings, or to hyaluronidase.",
                str(STING_ALLERGY),
            ),
            Risk(
                "More can go than is wished for, and I can look as before the filler or worse.",
                _USUAL,
            ),
            Risk("Other fillers than hyaluronic acid are not dissolved.", _USUAL),
            Risk("In many countries this use is not on the product’s label.", _USUAL),
        ),
    ),
    ConsentKind.PHOTOGRAPHS: Wording(
        "Photographs for the record",
        "Photographs before and after show what was treated and what came of it. They are part of "
        "your record and are kept as long as it is. Only people who treat you, or who must look at "
        "the record, see them.\n\nYou can be treated without them if the practitioner agrees.",
        TWO_YEARS,
        (
            Risk("I can be recognised on them.", _USUAL),
            Risk(
                "I can withdraw this for photographs to come. Those that were taken stay in the "
                "record as long as the law wants it kept.",
                _USUAL,
            ),
        ),
    ),
    ConsentKind.TEACHING: Wording(
        "Photographs for teaching",
        "Photographs from your record may be shown to professionals who learn. This is not needed "
        "for your treatment, and nothing changes for you if you say no.",
        TWO_YEARS,
        (
            Risk("I can be recognised, even where eyes or name are covered.", _USUAL),
            Risk(
                "I can withdraw this for the time to come. What was shown before cannot be called "
                "back.",
                _USUAL,
            ),
        ),
    ),
}  # fmt: skip

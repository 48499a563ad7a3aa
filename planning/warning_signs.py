"""
What can go wrong after a treatment, in words a patient knows, and how fast somebody must act.

Cautions, not a diagnosis: whoever is worried is told whom to call, however mild it looks. What the
patient writes is searched for words of the eye, the speech and the mind, because minutes count
there; a word that is missed is still read by a person. Each sign names its source.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from enum import IntEnum

from planning.names import fold
from planning.sources import VASCULAR_SIGNS, VISION_SIGNS, Confidence, Source
from planning.vocabulary import Term

ALLERGY_SIGNS = Source(
    "Signs of a severe allergic reaction", "as commonly taught", Confidence.COMMON_PRACTICE
)
INFECTION_SIGNS = Source(
    "Signs of an infection after an injection", "as commonly taught", Confidence.COMMON_PRACTICE
)


class Haste(IntEnum):
    """Who is called, and how fast; the higher the more pressing."""

    SOON = 1
    """The clinic, today."""
    CLINIC_NOW = 2
    """The clinic's emergency contact, at once."""
    EMERGENCY = 3
    """The emergency services, at once."""


class WarningSign(Term):
    """One sign that a patient ticks; the most pressing first."""

    VISION = "vision", "I see less, blurred or double, or my eye hurts"
    LID = "lid", "An eyelid droops"
    NERVES = "nerves", "One side is weak, or it is hard to speak or think clearly"
    BREATH = "breath", "It is hard to breathe or swallow, or my tongue or throat swells"
    PALE = "pale", "The skin is white, blue or blotchy like marble"
    PAIN = "pain", "Pain that is strong or grows"
    BLISTERS = "blisters", "Blisters, or the skin breaks"
    INFECTION = "infection", "Redness, heat or swelling that grows, pus or fever"
    LUMP = "lump", "A lump, or it looks uneven"
    OTHER = "other", "Something else"

    @property
    def haste(self) -> Haste:
        return _HASTE.get(self, Haste.SOON)

    @property
    def source(self) -> Source | None:
        return _SOURCES.get(self)


_HASTE = {
    WarningSign.VISION: Haste.EMERGENCY,
    WarningSign.LID: Haste.EMERGENCY,
    WarningSign.NERVES: Haste.EMERGENCY,
    WarningSign.BREATH: Haste.EMERGENCY,
    WarningSign.PALE: Haste.CLINIC_NOW,
    WarningSign.PAIN: Haste.CLINIC_NOW,
    WarningSign.BLISTERS: Haste.CLINIC_NOW,
}
_SOURCES = {
    WarningSign.VISION: VISION_SIGNS,
    WarningSign.LID: VISION_SIGNS,
    WarningSign.NERVES: VISION_SIGNS,
    WarningSign.BREATH: ALLERGY_SIGNS,
    WarningSign.PALE: VASCULAR_SIGNS,
    WarningSign.PAIN: VASCULAR_SIGNS,
    WarningSign.BLISTERS: VASCULAR_SIGNS,
    WarningSign.INFECTION: INFECTION_SIGNS,
}

# Words of a note or a call after which the emergency services are called, as `fold` writes them:
# "can't see" is "cant see". The things to look for: `VISION_SIGNS`; breath: `ALLERGY_SIGNS`.
_EMERGENCY_WORDS = (
    r"vision", r"sight", r"blind", r"blurr", r"double", r"see(ing)? (less|nothing|badly|worse)",
    r"(cannot|can not|cant) see", r"eye ?lid", r"droop", r"ptosis",
    r"eyes? (pain|hurt|ache)", r"(pain|hurt)\w* (in|behind) (my |the )?(left |right )?eyes?",
    r"one sided?", r"(half|side) of (my |the )?(face|body)", r"numb", r"stroke",
    r"slurr", r"speech",
    r"(hard|cannot|can not|cant|trouble|difficult\w*) (to )?(speak|talk|breath|swallow)",
    r"confus", r"faint", r"unconscious", r"collaps", r"(throat|tongue) (swell|swollen)",
    r"swollen (throat|tongue)",
)  # fmt: skip
_NAMES_ONE = re.compile(rf"\b({'|'.join(_EMERGENCY_WORDS)})")


def names_an_emergency(text: str) -> bool:
    """
    Whether a note holds a word after which the emergency services are called at once.

    Denied ones count as well: reading "no double vision" twice costs less than missing one.
    """
    return bool(_NAMES_ONE.search(fold(text)))


def haste_of(signs: Collection[WarningSign], note: str = "") -> Haste:
    """How fast somebody must act on what a patient ticked and wrote; never less than today."""
    if names_an_emergency(note):
        return Haste.EMERGENCY
    return max((sign.haste for sign in signs), default=Haste.SOON)

"""
What is written down while a blocked vessel is treated, and when that is loud.

Published facts with their sources; they advise and prescribe nothing. The clinic's own protocol,
local codes and licensed judgement come first.
"""

from __future__ import annotations

from planning.sources import Confidence, Source
from planning.vocabulary import Term

REFILL_CONCERN_TENTHS = 30
"""Capillary refill in tenths of a second from which it is a concern."""
LONGEST_REFILL_TENTHS = 300
REASSESS_MINUTES = 60
"""How long after a dose it is looked at again, where the clinic sets nothing else."""
LEAST_REASSESS_MINUTES, MOST_REASSESS_MINUTES = 15, 60
WORST_PAIN = 10

REFILL = Source(
    "Teaching page on immediate management of vascular occlusion",
    "press 5 seconds; 2 to 3 seconds are usual in a face under 65; 3 seconds or more, or slower "
    "than the other side, is a concern; other texts name 2 or 4 seconds",
    Confidence.PUBLISHED,
)
REASSESSMENT = Source(
    "DeLorenzi, Aesthet Surg J 2017",
    "repeated hourly until refill, colour and pain are normal; dose varies with the tissue at risk",
    Confidence.PUBLISHED,
)
VISION_TIME = Source(
    "Tobalem et al., BMC Ophthalmol 2018;18:101",
    "the retina survives a complete block most likely 12 to 15 minutes",
    Confidence.PUBLISHED,
)
OTHER_SIGNS = Source(
    "Doyon et al., Aesthet Surg J 2024",
    "loss of vision came with a drooping lid, an eye that does not move, pain, skin changes or "
    "signs of stroke",
    Confidence.PUBLISHED,
)


class Sign(Term):
    """What skin and patient show. Source: Murray et al. (CMAC) 2021, and an article citing it."""

    PALLOR = "pallor", "Pale or blanched"
    MOTTLED = "mottled", "Mottled, net-like"
    BLUE = "blue", "Blue or grey"
    SLOW_REFILL = "slow_refill", "Slow refill"
    GROWING_PAIN = "growing_pain", "Pain that grows"
    COLD = "cold", "Cold"
    BLISTERS = "blisters", "Pustules or blisters"
    PINK = "pink", "Pink again"


class EmergencySign(Term):
    """
    What sends for an ambulance at once.

    Source: Doyon et al. 2024; Beleznay et al., Dermatol Surg 2015.
    """

    VISION = "vision", "Vision lost or blurred"
    DOUBLE = "double", "Double vision"
    EYE_PAIN = "eye_pain", "Eye pain"
    LID = "lid", "Drooping lid, eye does not move"
    WEAKNESS = "weakness", "Weakness of one side"
    SPEECH = "speech", "Speech"
    CONFUSION = "confusion", "Confusion"


class Entry(Term):
    """One line of an occlusion log."""

    FIRST_SIGN = "first_sign", "First sign"
    SIGNS = "signs", "Skin signs"
    REFILL = "refill", "Capillary refill"
    PAIN = "pain", "Pain"
    DOSE = "dose", "Hyaluronidase"
    WARMTH = "warmth", "Warm compress"
    MASSAGE = "massage", "Massage"
    ASPIRIN = "aspirin", "Aspirin"
    STEP = "step", "Step of the protocol"
    CALL = "call", "Call"
    PHOTO = "photo", "Photograph"
    NOTE = "note", "Note"
    TIMER = "timer", "Look again after"
    EMERGENCY = "emergency", "Emergency: vision or nerve signs"
    ENDED = "ended", "Log ended"
    DISCARDED = "discarded", "Opened by mistake"


# Lower case, looked for at the start of a word: "vision" is found in "vision loss", not in
# "supervision".
EMERGENCY_WORDS = (
    "vision", "blind", "blur", "double", "droop", "ptosis", "eye pain", "cannot see", "can't see",
    "weak", "numb arm", "speech", "slur", "stroke", "confus",
)  # fmt: skip


def refill_is_slow(refill_tenths: int, other_tenths: int | None = None) -> bool:
    """
    Whether a refill is a concern: 3 seconds or more, or slower than the other side.

    Args:
        refill_tenths, other_tenths: tenths of a second; None where nobody looked.

    Source: REFILL.
    """
    is_slower = other_tenths is not None and refill_tenths > other_tenths
    return refill_tenths >= REFILL_CONCERN_TENTHS or is_slower


def tells_of_emergency(text: str) -> bool:
    """Whether a note or call names what sends for an ambulance (`EMERGENCY_WORDS`)."""
    words = "".join(sign if sign.isalnum() or sign in " '" else " " for sign in text.lower())
    return any(f" {word}" in f" {' '.join(words.split())}" for word in EMERGENCY_WORDS)


def seconds_text(tenths: int) -> str:
    """Tenths of a second as people read them: "3 seconds", "2.5 seconds", "1 second"."""
    whole, part = divmod(tenths, 10)
    number = f"{whole}.{part}" if part else f"{whole}"
    return f"{number} second" if number == "1" else f"{number} seconds"

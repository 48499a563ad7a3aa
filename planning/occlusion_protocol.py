"""
The steps that a clinic starts from when it writes its own protocol for a blocked vessel.

They follow published consensus, in this project's own words, each with its source; none of them
prescribes a dose. A clinic adapts them to its local protocol before it relies on them.
"""

from __future__ import annotations

from dataclasses import dataclass

from planning.sources import Confidence, Source

ADAPT = (
    "Adapt to your local protocol. The steps follow published consensus and prescribe nothing: "
    "local codes, the instructions of the product in hand and licensed judgement come first."
)

_CONSENSUS = Source(
    "Murray et al. (CMAC), J Clin Aesthet Dermatol 2021;14(5):E61-E69",
    "guideline on vascular occlusion; its abstract, and an article of 2022 that cites it",
    Confidence.SECOND_HAND,
)
_PULSED = Source(
    "DeLorenzi, Aesthet Surg J 2017",
    "high-dose pulsed hyaluronidase, hourly until resolution; abstract",
    Confidence.PUBLISHED,
)
_SKIN_TEST = Source(
    "Immediate hyaluronidase without a skin test",
    "delay is worse where tissue is threatened; allergy is asked for all the same",
    Confidence.SECOND_HAND,
)
_EYE = Source(
    "Singapore Med J 2016;57:438, expert review",
    "stop, note the time, call and refer without delay",
    Confidence.PUBLISHED,
)
_USUAL = Source(
    "Warmth, massage, aspirin", "as commonly taught; not in a text we read", Confidence.MEMORY
)
_RECORD = Source("Handing over", "as commonly done", Confidence.COMMON_PRACTICE)


@dataclass(frozen=True, slots=True)
class Step:
    """One step: a title of a few words, what to do, and who says so."""

    title: str
    text: str
    source: str


SUPPLIED_STEPS = (
    Step(
        "Stop injecting",
        "Leave the needle or cannula. Note the time of the first sign. Call for help in the house "
        "and have the emergency kit brought.",
        str(_CONSENSUS),
    ),
    Step(
        "Vision, eye or nerve signs?",
        "Ask: seeing, double vision, eye pain, lid, speech, weakness. Any of them: press the red "
        "button and call emergency services at once.",
        str(_EYE),
    ),
    Step(
        "Look and measure",
        "Colour, pattern and pain. Press 5 seconds and count the refill; compare with the other "
        "side. Mark the edge of the area and photograph it.",
        str(_CONSENSUS),
    ),
    Step(
        "Ask for allergies",
        "Hyaluronidase, bee or wasp stings, lidocaine, aspirin. Keep adrenaline at hand. A skin "
        "test is not waited for where tissue is threatened.",
        str(_SKIN_TEST),
    ),
    Step(
        "Hyaluronidase, if it was hyaluronic acid",
        "Flood the whole area at risk by your local protocol, and write down units, diluent, lot "
        "and place of each dose.",
        str(_CONSENSUS),
    ),
    Step(
        "Warmth, massage, aspirin",
        "By your local protocol, and only if nothing speaks against it in this patient.",
        str(_USUAL),
    ),
    Step(
        "Look again, and repeat",
        "After the time set here look at refill, colour and pain; repeat by your local protocol "
        "until all three are normal.",
        str(_PULSED),
    ),
    Step(
        "Hand over and arrange to see the patient again",
        "Give the handover sheet, the warning signs and the number to call. It can come back "
        "within hours or days.",
        str(_RECORD),
    ),
)

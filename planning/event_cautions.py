"""
What to be careful of when something went wrong after a treatment, in this project's own words.

Cautions, not orders: advice never replaces licensed judgement, and the clinic's own emergency
protocol and local codes come first. Each names its source.
"""

from __future__ import annotations

from dataclasses import dataclass

from planning.sources import (
    EVENT_REPORTING,
    TOXIN_SPREAD,
    VASCULAR_SIGNS,
    VISION_SIGNS,
    Source,
)
from planning.vocabulary import Term


class Urgency(Term):
    """How loudly a page says it; the words of its flags."""

    STOP = "stop", "Act at once"
    CAUTION = "caution", "Be careful"
    NOTE = "note", "Note"


@dataclass(frozen=True, slots=True)
class EventCaution:
    """One caution: when it holds, what is usual then, and who says so."""

    urgency: Urgency
    title: str
    text: str
    source: Source


EMERGENCIES = (
    EventCaution(
        Urgency.STOP,
        "Loss of vision, eye pain, double vision, a drooping lid, weakness of one side",
        "An emergency: stop, note the time, call by the clinic's emergency protocol and refer "
        "without delay. Minutes count. Write it down here afterwards.",
        VISION_SIGNS,
    ),
    EventCaution(
        Urgency.STOP,
        "Pain that grows, blanched, mottled or blue skin, slow refill after pressing",
        "Signs of a blocked vessel, also hours later: act at once by the clinic's emergency "
        "protocol.",
        VASCULAR_SIGNS,
    ),
)
EVENT_CAUTIONS = (
    EventCaution(
        Urgency.CAUTION,
        "After toxin: weakness elsewhere, trouble swallowing, speaking or breathing",
        "It may come hours to weeks later. Whoever has it seeks care at once.",
        TOXIN_SPREAD,
    ),
    EventCaution(
        Urgency.NOTE,
        "Reporting",
        "Whether, to whom and by when it is reported (regulator, maker, insurer) follows local "
        "codes. Writing it down here reports it to nobody.",
        EVENT_REPORTING,
    ),
)

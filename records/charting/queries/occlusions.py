"""Occlusion logs as tablets know them, and what a tablet keeps to write one without network."""

from django.urls import reverse

from clinic.protocols.queries import current_protocol
from planning.occlusion import (
    EMERGENCY_WORDS,
    LEAST_REASSESS_MINUTES,
    MOST_REASSESS_MINUTES,
    OTHER_SIGNS,
    REASSESSMENT,
    REFILL,
    REFILL_CONCERN_TENTHS,
    VISION_TIME,
    EmergencySign,
    Entry,
    Sign,
)
from planning.occlusion_protocol import ADAPT
from records.adverse_events.enums import Grade
from records.occlusions.models import Occlusion, OcclusionEntry
from records.occlusions.queries import unit_text

OCCLUSION_LINES = "occlusions__entries__unit__lot__product"
"""To be prefetched with sessions."""
_LINE = (
    "key", "what", "at", "signs", "refill_tenths", "other_tenths", "pain", "dose_centiunits",
    "diluent_ul", "unit_id", "lot", "region", "side", "place", "minutes", "moment", "picture",
    "whom", "text", "grade",
)  # fmt: skip


def occlusion_json(log: Occlusion) -> dict:
    """A log with its lines; `url` is its page, where the handover sheet is."""
    return {
        "key": log.key,
        "at": log.at,
        "url": reverse("occlusion-detail", args=[log.pk]),
        "sheet": reverse("occlusion-handover", args=[log.pk]),
        "entries": [_line(entry) for entry in log.entries.all()],
    }


def _line(entry: OcclusionEntry) -> dict:
    told = {name.removesuffix("_id"): getattr(entry, name) for name in _LINE}
    return told | {"signs": ",".join(entry.signs), "unit_text": unit_text(entry)}


def protocol_json() -> dict:
    """The clinic's protocol and whom to call: two queries at most."""
    current = current_protocol()
    stored = current.stored
    return {
        "version": stored.number or None,
        "name": current.version,
        "steps": [
            {"title": step.title, "text": step.text, "source": step.source}
            for step in current.steps
        ],
        "minutes": stored.reassess_minutes,
        "contacts": [
            {"label": label, "text": text}
            for label, text in (
                ("Emergency services", stored.emergency_number),
                ("Eye emergency", stored.eye_contact),
                ("A colleague to ask", stored.help_contact),
            )
        ],
        "say": stored.what_to_say,
    }


def occlusion_reference() -> dict:
    """Words, bounds and sources, the same for every clinic."""
    return {
        "entries": Entry.choices(),
        "signs": Sign.choices(),
        "emergency_signs": EmergencySign.choices(),
        "emergency_words": EMERGENCY_WORDS,
        "grades": [[grade.value, grade.label, grade.meaning] for grade in Grade],
        "refill_concern_tenths": REFILL_CONCERN_TENTHS,
        "minutes": [LEAST_REASSESS_MINUTES, MOST_REASSESS_MINUTES],
        "adapt": ADAPT,
        "sources": {
            "refill": str(REFILL),
            "reassessment": str(REASSESSMENT),
            "vision": str(VISION_TIME),
            "signs": str(OTHER_SIGNS),
        },
    }

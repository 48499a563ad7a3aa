"""The demo's time-outs, a minute before the first point."""

import uuid
from datetime import timedelta

from clinic.audit.services import acting
from records.sessions.models import TreatmentSession
from records.time_out.enums import Item
from records.time_out.services import Answer, note_time_out

_SPACE = uuid.UUID("6f0f6c52-3f0b-4a8e-9d7c-0c1a5a1d2b77")


def pause(session: TreatmentSession) -> None:
    """All confirmed, as on nearly every day."""
    patient = session.patient
    facts = {
        Item.IDENTITY: f"{patient.full_name}, born {patient.birth_date:%-d %b %Y}",
        Item.UNITS: "None opened yet.",
    }
    answers = [Answer(item, is_confirmed=True, facts=facts.get(item, "")) for item in Item]
    with acting(session.injector) as trail:
        note_time_out(
            session=session,
            key=uuid.uuid5(_SPACE, str(session.pk)),
            answers=answers,
            at=session.started_at + timedelta(minutes=4),
            by=session.injector,
            trail=trail,
        )

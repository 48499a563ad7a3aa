"""A message that was sent keeps its words and stays sent; an answer stays as it was given."""

from clinic.database.triggers import never_emptied, refuse

_MESSAGE, _ANSWER = "records_message", "records_answer"
_SENT_WITH = ("state", "key", "reference", "patient_id", "route", "recipient", "subject", "text")
_GIVEN = ("message_id", "appointment_id", "starts_at", "kind", "note", "at")
_KEPT = "what was written to a patient, and answered, stays on record"


def _differ(columns: tuple[str, ...]) -> str:
    return " OR ".join(f"OLD.{column} <> NEW.{column}" for column in columns)


TRIGGERS = (
    refuse(
        f"{_MESSAGE}_sent_stays", _MESSAGE, "BEFORE UPDATE", "a sent message stays as it was sent",
        condition=f"OLD.state = 'sent' AND ({_differ(_SENT_WITH)})",
    ),
    refuse(f"{_MESSAGE}_kept", _MESSAGE, "BEFORE DELETE", _KEPT),
    *never_emptied(_MESSAGE, _KEPT),
    refuse(
        f"{_ANSWER}_as_given", _ANSWER, "BEFORE UPDATE", "an answer stays as it was given",
        condition=_differ(_GIVEN),
    ),
    refuse(f"{_ANSWER}_kept", _ANSWER, "BEFORE DELETE", _KEPT),
    *never_emptied(_ANSWER, _KEPT),
)  # fmt: skip

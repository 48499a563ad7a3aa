"""
A photograph stays the picture that was stored, also when it was taken out, which happens once.
What the patient agreed to stays as it was given, and is withdrawn once.
"""

from clinic.database.triggers import guard, never_emptied, refuse

_PHOTOGRAPH, _USE = "records_photograph", "records_photographuse"
_KEPT = "a photograph stays in the record"
_USE_KEPT = "what was agreed stays in the record"
_AS_STORED = (
    "key", "patient_id", "added_at", "added_by_id", "source", "file", "width", "height", "digest",
    "sent_digest",
)  # fmt: skip
_AS_GIVEN = ("photograph_id", "use", "given_at", "given_on", "noted_by_id")


_OTHERS_SESSION = (
    "SELECT 1 FROM records_treatmentsession s "
    "WHERE s.id = NEW.session_id AND s.patient_id <> NEW.patient_id"
)


def _differs(columns: tuple[str, ...]) -> str:
    return " OR ".join(f"OLD.{column} <> NEW.{column}" for column in columns)


TRIGGERS = (
    refuse(
        f"{_PHOTOGRAPH}_as_stored", _PHOTOGRAPH, "BEFORE UPDATE",
        "a photograph stays as it was stored", condition=_differs(_AS_STORED),
    ),
    refuse(
        f"{_PHOTOGRAPH}_removed_once", _PHOTOGRAPH, "BEFORE UPDATE",
        "the photograph was taken out", condition="OLD.removed_at IS NOT NULL",
    ),
    guard(
        f"{_PHOTOGRAPH}_of_its_patient", _PHOTOGRAPH, "BEFORE INSERT", _OTHERS_SESSION,
        "the session is of another patient",
    ),
    refuse(f"{_PHOTOGRAPH}_kept", _PHOTOGRAPH, "BEFORE DELETE", _KEPT),
    *never_emptied(_PHOTOGRAPH, _KEPT),
    refuse(
        f"{_USE}_withdrawn_once", _USE, "BEFORE UPDATE", "the agreement was withdrawn",
        condition="OLD.withdrawn_at IS NOT NULL",
    ),
    refuse(
        f"{_USE}_as_given", _USE, "BEFORE UPDATE", "an agreement stays as it was given",
        condition=_differs(_AS_GIVEN)
        + " OR OLD.until_on <> NEW.until_on OR (OLD.until_on IS NULL) <> (NEW.until_on IS NULL)",
    ),
    refuse(f"{_USE}_kept", _USE, "BEFORE DELETE", _USE_KEPT),
    *never_emptied(_USE, _USE_KEPT),
)  # fmt: skip

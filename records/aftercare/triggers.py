"""What a patient was given and what they answered stays; a worry is dealt with once."""

from clinic.database.triggers import append_only, never_emptied, refuse

_ANSWER = "records_checkinanswer"
_KEPT = "what a patient answered stays on record"
_GIVEN = ("check_in_id", "feeling", "signs", "note", "haste", "at")

TRIGGERS = (
    *append_only("records_aftercaretext"),
    *append_only("records_aftercaresheet"),
    *append_only("records_checkin"),
    refuse(
        f"{_ANSWER}_as_given", _ANSWER, "BEFORE UPDATE", "an answer stays as it was given",
        condition=" OR ".join(
            ["OLD.settled_at IS NOT NULL"] + [f"OLD.{name} <> NEW.{name}" for name in _GIVEN]
        ),
    ),
    refuse(f"{_ANSWER}_kept", _ANSWER, "BEFORE DELETE", _KEPT),
    *never_emptied(_ANSWER, _KEPT),
)  # fmt: skip

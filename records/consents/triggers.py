"""
Texts, risks, ticks and papers are only added. A consent stays as it was given; it is withdrawn
once, and never deleted. What is ticked belongs to the text that was answered.
"""

from clinic.database.triggers import append_only, guard, never_emptied, refuse

_TABLE = "records_consent"
_KEPT = "a consent stays in the record"
_GIVEN = (
    "patient_id", "text_id", "outcome", "reason", "discussed_at", "questions", "told_alternatives",
    "told_costs", "capacity_note", "signed_name", "signature", "unsigned_reason",
    "witness_name", "witness_signature", "taken_by_id", "given_at",
)  # fmt: skip
# Which may be empty: "<>" says nothing about NULL.
_GIVEN_IF_ANY = ("has_capacity", "valid_until", "not_before", "not_before_day")

TRIGGERS = (
    *append_only("records_consenttext"),
    *append_only("records_consentrisk"),
    *append_only("records_consenttick"),
    *append_only("records_consentpaper"),
    guard(
        "records_consenttick_of_its_text", "records_consenttick", "BEFORE INSERT",
        "SELECT 1 FROM records_consent c, records_consentrisk r "
        "WHERE c.id = NEW.consent_id AND r.id = NEW.risk_id AND r.text_id <> c.text_id",
        "a tick belongs to the text that was answered",
    ),
    refuse(
        f"{_TABLE}_withdrawn_once", _TABLE, "BEFORE UPDATE", "the consent was withdrawn",
        condition="OLD.withdrawn_at IS NOT NULL",
    ),
    refuse(
        f"{_TABLE}_as_given", _TABLE, "BEFORE UPDATE", "a consent stays as it was given",
        condition=" OR ".join(
            [
                *(f"OLD.{column} <> NEW.{column}" for column in _GIVEN),
                *(
                    f"OLD.{column} <> NEW.{column} "
                    f"OR (OLD.{column} IS NULL) <> (NEW.{column} IS NULL)"
                    for column in _GIVEN_IF_ANY
                ),
            ]
        ),
    ),
    refuse(f"{_TABLE}_kept", _TABLE, "BEFORE DELETE", _KEPT),
    *never_emptied(_TABLE, _KEPT),
)  # fmt: skip

"""A report stays as it was told; it is withdrawn once, and never deleted."""

from clinic.database.triggers import never_emptied, refuse

_TABLE = "records_reportedcare"
_KEPT = "a report stays in the record"
_TOLD = (
    "patient_id",
    "kind",
    "precision",
    "region",
    "family",
    "note",
    "reported_at",
    "reported_by_id",
)
# Which may be empty: "<>" says nothing about NULL.
_TOLD_IF_KNOWN = ("day", "centiunits")

TRIGGERS = (
    refuse(
        f"{_TABLE}_withdrawn_once", _TABLE, "BEFORE UPDATE", "the report was withdrawn",
        condition="OLD.withdrawn_at IS NOT NULL",
    ),
    refuse(
        f"{_TABLE}_as_told", _TABLE, "BEFORE UPDATE", "a report stays as it was told",
        condition=" OR ".join(
            [
                *(f"OLD.{column} <> NEW.{column}" for column in _TOLD),
                *(
                    f"OLD.{column} <> NEW.{column} "
                    f"OR (OLD.{column} IS NULL) <> (NEW.{column} IS NULL)"
                    for column in _TOLD_IF_KNOWN
                ),
            ]
        ),
    ),
    refuse(f"{_TABLE}_kept", _TABLE, "BEFORE DELETE", _KEPT),
    *never_emptied(_TABLE, _KEPT),
)  # fmt: skip

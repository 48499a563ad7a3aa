"""What was taken in stays as it was, until its import is undone as a whole."""

from clinic.database.triggers import guard, never_emptied, refuse

_IMPORT, _ROW, _TREATMENT = (
    "records_import", "records_importrow", "records_importedtreatment",
)  # fmt: skip
_UPLOADED = ("kind", "file_name", "digest", "letters", "separator", "uploaded_at", "uploaded_by_id")
_KEPT = "an import stays on record"
_ROW_KEPT = "the rows of an import stay, unless it is discarded"
_TREATMENT_KEPT = "a treatment of the former record stays, unless its import is undone"
_IN_STATE = f"SELECT 1 FROM {_IMPORT} WHERE id = OLD.import_of_id AND state"

TRIGGERS = (
    refuse(
        f"{_IMPORT}_as_uploaded", _IMPORT, "BEFORE UPDATE", "a file stays as it was uploaded",
        condition=" OR ".join(f"OLD.{column} <> NEW.{column}" for column in _UPLOADED),
    ),
    refuse(
        f"{_IMPORT}_goes_forward", _IMPORT, "BEFORE UPDATE",
        "an import that was taken in can only be undone, and that once",
        condition="(OLD.state = 'running' AND NEW.state NOT IN ('running', 'done', 'undoing'))"
        " OR (OLD.state = 'done' AND NEW.state NOT IN ('done', 'undoing'))"
        " OR (OLD.state = 'undoing' AND NEW.state NOT IN ('undoing', 'undone'))"
        " OR (OLD.state IN ('undone', 'discarded') AND NEW.state <> OLD.state)",
    ),
    refuse(f"{_IMPORT}_kept", _IMPORT, "BEFORE DELETE", _KEPT),
    *never_emptied(_IMPORT, _KEPT),
    guard(
        f"{_ROW}_taken_once", _ROW, "BEFORE UPDATE",
        f"SELECT 1 WHERE OLD.state IN ('taken', 'undone', 'kept') AND NEW.state <> OLD.state "
        f"AND NOT (OLD.state = 'taken' AND NEW.state IN ('undone', 'kept') "
        f"AND EXISTS ({_IN_STATE} = 'undoing'))",
        "a row that was taken in is only undone with its import",
    ),
    guard(
        f"{_ROW}_taken_while_running", _ROW, "BEFORE UPDATE",
        f"SELECT 1 WHERE NEW.state = 'taken' AND OLD.state <> 'taken' "
        f"AND NOT EXISTS ({_IN_STATE} = 'running')",
        "a row is taken in while its import runs",
    ),
    guard(f"{_ROW}_kept", _ROW, "BEFORE DELETE", f"{_IN_STATE} <> 'discarded'", _ROW_KEPT),
    *never_emptied(_ROW, _ROW_KEPT),
    refuse(
        f"{_TREATMENT}_as_imported", _TREATMENT, "BEFORE UPDATE",
        "a treatment of the former record stays as it was imported",
    ),
    guard(
        f"{_TREATMENT}_kept", _TREATMENT, "BEFORE DELETE",
        f"SELECT 1 FROM {_ROW} r JOIN {_IMPORT} i ON i.id = r.import_of_id "
        f"WHERE r.id = OLD.row_id AND i.state <> 'undoing'",
        _TREATMENT_KEPT,
    ),
    *never_emptied(_TREATMENT, _TREATMENT_KEPT),
)  # fmt: skip

"""Nobody works twice at one time, whatever path the hours come by."""

from clinic.database.triggers import guard

TABLE = "clinic_workingtime"
_OVERLAPS = (
    f"SELECT 1 FROM {TABLE} other WHERE other.person_id = NEW.person_id "
    "AND other.weekday = NEW.weekday AND other.id <> NEW.id "
    "AND other.starts < NEW.ends AND other.ends > NEW.starts "
    "AND (other.until_on IS NULL OR other.until_on >= NEW.from_on) "
    "AND (NEW.until_on IS NULL OR other.from_on <= NEW.until_on)"
)
_MESSAGE = "hours of one person do not overlap"

TRIGGERS = (
    guard("clinic_workingtime_added_once", TABLE, "AFTER INSERT", _OVERLAPS, _MESSAGE),
    guard("clinic_workingtime_stays_once", TABLE, "AFTER UPDATE", _OVERLAPS, _MESSAGE),
)

"""
Nobody and no room is booked twice: an appointment holds its time cell by cell.

The cells are written here, whatever path an appointment comes by, and the unique constraints of
`HeldCell` refuse the second one, under race as well.
"""

from clinic.database.triggers import Trigger
from clinic.visit_kinds.models import STEP_MINUTES
from records.appointments.models import HOLDING_TIME

TABLE, CELLS = "records_appointment", "records_heldcell"
STEP = STEP_MINUTES * 60
HOLDING = ", ".join(f"'{state.value}'" for state in HOLDING_TIME)
_COLUMNS = "(appointment_id, cell, practitioner_id, room_id, patient_id)"

# The seconds of a start, as each database reads it.
_SECONDS = {
    "sqlite": "CAST(strftime('%s', NEW.starts_at) AS INTEGER)",
    "postgresql": "EXTRACT(EPOCH FROM NEW.starts_at)::bigint",
}
_SERIES = {
    "sqlite": (
        "SELECT value AS cell FROM (WITH RECURSIVE one(value, last) AS ("
        "SELECT {first}, {last} UNION ALL SELECT value + 1, last FROM one WHERE value < last) "
        "SELECT value FROM one)"
    ),
    "postgresql": "SELECT generate_series({first}, {last}) AS cell",
}


def _fill(vendor: str) -> str:
    """The statement that writes the cells of NEW."""
    seconds = _SECONDS[vendor]
    before, length, after = (
        f"NEW.{name} * 60" for name in ("preparation_minutes", "minutes", "buffer_minutes")
    )
    series = _SERIES[vendor].format(
        first=f"({seconds} - {before}) / {STEP}",
        last=f"({seconds} + {length} + {after} + {STEP - 1}) / {STEP} - 1",
    )
    visit = f"cell >= {seconds} / {STEP} AND cell < ({seconds} + {length} + {STEP - 1}) / {STEP}"
    return (
        f"INSERT INTO {CELLS} {_COLUMNS} SELECT NEW.id, cell, NEW.practitioner_id, NEW.room_id, "
        f"CASE WHEN {visit} THEN NEW.patient_id END FROM ({series}) AS span;"
    )


_NUMBERS = (
    "minutes", "preparation_minutes", "buffer_minutes", "practitioner_id", "room_id", "patient_id",
)  # fmt: skip
# Without a room the number is empty, which equals nothing.
_CHANGED = " OR ".join(
    [
        "OLD.starts_at <> NEW.starts_at",
        *(f"COALESCE(OLD.{name}, 0) <> COALESCE(NEW.{name}, 0)" for name in _NUMBERS),
        f"(OLD.state IN ({HOLDING})) <> (NEW.state IN ({HOLDING}))",
    ]
)
_FREE = f"DELETE FROM {CELLS} WHERE appointment_id = NEW.id;"


def _refill(vendor: str) -> str:
    fill = _fill(vendor)
    if vendor == "sqlite":
        return f"{_FREE} {fill.removesuffix(';')} WHERE NEW.state IN ({HOLDING});"
    return f"{_FREE} IF NEW.state IN ({HOLDING}) THEN {fill} END IF; RETURN NULL;"


_OFF_THE_MARKS = "An appointment starts and ends on five minutes"


def _on_the_marks(name: str, when: str) -> Trigger:
    """Times between the marks would hold cells that their neighbours need."""
    return Trigger(
        name=name,
        table=TABLE,
        when=when,
        sqlite=(
            f"SELECT RAISE(ABORT, '{_OFF_THE_MARKS}') "
            f"WHERE {_SECONDS['sqlite']} % {STEP} <> 0 OR NEW.minutes % {STEP_MINUTES} <> 0;"
        ),
        postgresql=(
            f"IF EXTRACT(EPOCH FROM NEW.starts_at) % {STEP} <> 0 "
            f"OR NEW.minutes % {STEP_MINUTES} <> 0 THEN RAISE EXCEPTION '{_OFF_THE_MARKS}' "
            "USING ERRCODE = 'check_violation'; END IF; RETURN NEW;"
        ),
    )


TRIGGERS = (
    _on_the_marks("records_appointment_starts_on_marks", "BEFORE INSERT"),
    _on_the_marks("records_appointment_moves_to_marks", "BEFORE UPDATE OF starts_at, minutes"),
    Trigger(
        name="records_appointment_holds_its_time",
        table=TABLE,
        when="AFTER INSERT",
        condition=f"NEW.state IN ({HOLDING})",
        sqlite=_fill("sqlite"),
        postgresql=f"{_fill('postgresql')} RETURN NULL;",
    ),
    Trigger(
        name="records_appointment_moves_its_time",
        table=TABLE,
        when="AFTER UPDATE",
        condition=_CHANGED,
        sqlite=_refill("sqlite"),
        postgresql=_refill("postgresql"),
    ),
)

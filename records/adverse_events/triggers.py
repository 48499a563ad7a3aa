"""A suspected unit is one of the suspected lot; the points in question are the patient's own."""

from clinic.database.triggers import guard

_EVENT, _POINT = "records_adverseevent", "records_adverseevent_points"
_OF_ANOTHER_LOT = "SELECT 1 FROM clinic_unitofstock u WHERE u.id = NEW.unit_id"
_OF_ANOTHER_LOT += " AND u.lot_id <> NEW.lot_id"
_OF_ANOTHER = (
    "SELECT 1 FROM records_injectionentry p "
    "JOIN records_treatmentsession s ON s.id = p.session_id "
    f"JOIN {_EVENT} e ON e.id = NEW.adverseevent_id "
    "WHERE p.id = NEW.injectionentry_id AND s.patient_id <> e.patient_id"
)

TRIGGERS = tuple(
    guard(f"{table}_{name}_{act.lower()}", table, f"BEFORE {act}", problem, message)
    for act in ("INSERT", "UPDATE")
    for table, name, problem, message in (
        (_EVENT, "unit_of_lot", _OF_ANOTHER_LOT, "the suspected unit is of another lot"),
        (_POINT, "of_patient", _OF_ANOTHER, "the point is another patient"),
    )
)

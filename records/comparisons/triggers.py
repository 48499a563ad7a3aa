"""A mark lies in its picture; a sheet stays as printed and compares one patient with themselves."""

from clinic.database.triggers import append_only, guard

_MARK, _SHEET = "records_photographmark", "records_comparisonsheet"
_OUTSIDE = (
    "SELECT 1 FROM records_photograph p WHERE p.id = NEW.photograph_id "
    "AND (NEW.x >= p.width OR NEW.y >= p.height)"
)
_OF_TWO = (
    "SELECT 1 FROM records_photograph f JOIN records_photograph s "
    "ON f.id = NEW.first_id AND s.id = NEW.second_id WHERE f.patient_id <> s.patient_id"
)

TRIGGERS = (
    guard(f"{_MARK}_in_new", _MARK, "BEFORE INSERT", _OUTSIDE, "the mark lies outside"),
    guard(f"{_MARK}_in_moved", _MARK, "BEFORE UPDATE", _OUTSIDE, "the mark lies outside"),
    guard(f"{_SHEET}_of_one", _SHEET, "BEFORE INSERT", _OF_TWO, "these are of two patients"),
    *append_only(_SHEET),
)

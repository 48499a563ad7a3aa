"""The temperature log and the decisions about it only grow."""

from clinic.database.triggers import append_only, guard

_OTHER_FRIDGE = (
    "SELECT 1 FROM clinic_fridgereading f, clinic_fridgereading l WHERE f.id = NEW.first_id "
    "AND l.id = NEW.last_id AND (f.place_id <> l.place_id OR f.read_at > l.read_at)"
)

TRIGGERS = (
    *append_only("clinic_fridgereading"),
    *append_only("clinic_excursionreview"),
    guard(
        "clinic_excursionreview_of_one_fridge", "clinic_excursionreview", "BEFORE INSERT",
        _OTHER_FRIDGE, "an excursion is of one fridge, from its first reading to its last",
    ),
)  # fmt: skip

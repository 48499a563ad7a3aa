"""
An assessment stays as it was saved: nothing of it is changed or taken away, and no region is added
to it afterwards.
"""

from clinic.database.triggers import append_only, guard

_REGION = "records_gradedregion"
_FULL = (
    "SELECT 1 FROM records_assessment WHERE id = NEW.assessment_id AND region_count <= "
    f"(SELECT COUNT(*) FROM {_REGION} WHERE assessment_id = NEW.assessment_id)"
)

TRIGGERS = (
    *append_only("records_assessment"),
    *append_only(_REGION),
    guard(f"{_REGION}_none_added", _REGION, "BEFORE INSERT", _FULL, "the assessment is saved"),
)

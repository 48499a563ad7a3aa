"""
A review record stays as it was saved, and a further one of the same review says why. What a patient
answered stays, and goes into records of that very review alone, with the satisfaction as it was
said.
"""

from clinic.database.triggers import append_only, guard

_RECORD, _RATING = "records_reviewrecord", "records_regionrating"
_ANSWERS, _CARRIED = "records_ownanswers", "records_carryover"

_FULL = (
    f"SELECT 1 FROM {_RECORD} WHERE id = NEW.record_id AND rating_count <= "
    f"(SELECT COUNT(*) FROM {_RATING} WHERE record_id = NEW.record_id)"
)
_WITHOUT_WHY = f"SELECT 1 FROM {_RECORD} WHERE review_id = NEW.review_id AND NEW.why_again = ''"
_NOT_SO_SAID = (
    f"SELECT 1 FROM {_ANSWERS} said WHERE said.id = NEW.own_answers_id "
    "AND (said.review_id <> NEW.review_id "
    "OR COALESCE(said.satisfaction, -1) <> COALESCE(NEW.satisfaction, -1))"
)

TRIGGERS = (
    *append_only(_RECORD),
    *append_only(_RATING),
    *append_only(_ANSWERS),
    *append_only(_CARRIED),
    guard(f"{_RATING}_none_added", _RATING, "BEFORE INSERT", _FULL, "the review record is saved"),
    guard(
        f"{_RECORD}_again_with_why", _RECORD, "BEFORE INSERT", _WITHOUT_WHY,
        "a further record of a review says why",
    ),
    guard(
        f"{_RECORD}_own_answers", _RECORD, "BEFORE INSERT", _NOT_SO_SAID,
        "the patient gave other answers, or of another review",
    ),
)  # fmt: skip

"""The history of a review's dates only grows, and a review answers what its own session asked."""

from clinic.database.triggers import append_only, guard

_OTHER_SESSION = (
    "SELECT 1 FROM records_review r WHERE r.id = NEW.review_id AND r.session_id <> NEW.session_id"
)
_MESSAGE = "a review answers what its own session asks for"

TRIGGERS = (
    *append_only("records_reviewdate"),
    guard(
        "records_reviewask_of_its_session", "records_reviewask", "BEFORE INSERT",
        _OTHER_SESSION, _MESSAGE,
    ),
    guard(
        "records_reviewask_stays_with_it", "records_reviewask", "BEFORE UPDATE",
        _OTHER_SESSION, _MESSAGE,
    ),
)  # fmt: skip

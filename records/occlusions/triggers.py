"""What was written in an occlusion log stays as it was written; so does a handover sheet."""

from clinic.database.triggers import append_only

TRIGGERS = tuple(
    trigger
    for table in ("records_occlusion", "records_occlusionentry", "records_handoversheet")
    for trigger in append_only(table)
)

"""
The digest that chains the audit trail, as pure functions over the stored text of a row.

The text is a JSON array of the row's columns in a fixed order, UTF-8, with fixed separators and
times in UTC; nothing is parsed again to verify it, so what is checked is what is stored.
"""

import hashlib
import json
from datetime import UTC, datetime

GENESIS = "0" * 64


def row_text(
    *,
    position: int,
    at: datetime,
    actor_id: int | None,
    action: str,
    subject_type: str,
    subject_id: str,
    patient_id: int | None,
    data: str,
) -> str:
    """The row's own text, the same for writing and for verifying."""
    at_text = at.astimezone(UTC).isoformat(timespec="microseconds")
    columns = [position, at_text, actor_id, action, subject_type, subject_id, patient_id, data]
    return json.dumps(columns, ensure_ascii=False, separators=(",", ":"))


def chained_digest(previous_digest: str, text: str) -> str:
    """SHA-256 over the previous digest, a line feed and the row's text, in hexadecimal."""
    return hashlib.sha256(f"{previous_digest}\n{text}".encode()).hexdigest()

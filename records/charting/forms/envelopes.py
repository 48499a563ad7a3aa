"""The frame of a request and of its operations; what is wrong here no tablet of ours sends."""

import hashlib
import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from records.charting.enums import Kind
from records.charting.errors import Malformed
from records.charting.forms.data import FORMS
from records.charting.services.operations import SentOperation
from records.sessions.forms.pictures import CLOCK_YEARS
from records.sessions.forms.sentences import sentence

MOST_OPERATIONS = 50
MOST_SESSIONS = 50
LARGEST_NUMBER = 2**63 - 1
# What makes two sendings the same act. Who brings it, and what it builds on, may change.
CONTENT = ("session", "kind", "made_at", "author", "data")


@dataclass(frozen=True)
class SyncRequest:
    """`sent_at` is the tablet's clock; `wanted` are keys of sessions."""

    device: UUID
    sent_at: datetime
    operations: list[SentOperation]
    wanted: list[UUID]


def read_sync(sent: Any) -> SyncRequest:
    """
    The request of a tablet, from what its JSON says.

    Raises:
        Malformed: it has not the agreed shape.
    """
    if not isinstance(sent, dict):
        raise Malformed("The request is not a JSON object.")
    operations = _list(sent, "operations", MOST_OPERATIONS)
    # More are left for the next request: refusing them would refuse the operations as well.
    wanted = _list(sent, "sessions")[:MOST_SESSIONS] if "sessions" in sent else []
    return SyncRequest(
        device=_uuid(sent, "device"),
        sent_at=_moment(sent, "sent_at"),
        operations=[_operation(row) for row in operations],
        wanted=[_uuid({"session": key}, "session") for key in wanted],
    )


def _operation(row: Any) -> SentOperation:
    if not isinstance(row, dict):
        raise Malformed("An operation is not a JSON object.")
    kind, data = row.get("kind"), row.get("data")
    if not isinstance(kind, str) or not isinstance(data, dict):
        raise Malformed("An operation has no kind or no data.")
    canonical = json.dumps(
        [row.get(name) for name in CONTENT],
        ensure_ascii=False, sort_keys=True, separators=(",", ":"),
    )  # fmt: skip
    cleaned, problem = _cleaned(kind, data)
    return SentOperation(
        id=_uuid(row, "id"),
        session=_uuid(row, "session"),
        kind=kind,
        base=_uuid_or_none(row, "base"),
        instead_of=_uuid_or_none(row, "instead_of"),
        made_at=_moment(row, "made_at"),
        sequence=_number(row, "sequence"),
        author=_number(row, "author"),
        handed_over=row.get("handed_over") is True,
        data=cleaned,
        problem=problem,
        body_digest=hashlib.sha256(canonical.encode()).hexdigest(),
    )


def _cleaned(kind: str, data: dict) -> tuple[dict, str]:
    """The data as services take it, or a sentence about what is wrong with it."""
    try:
        form = FORMS[Kind(kind)](data)
    except ValueError:
        return {}, "The clinic does not know this act. Load the page anew, then do it again."
    if not form.is_valid():
        return {}, sentence(form)
    return form.cleaned_data, ""


def _list(sent: dict, name: str, most: int | None = None) -> list:
    rows = sent.get(name)
    if not isinstance(rows, list):
        raise Malformed(f"“{name}” is not a list.")
    if most is not None and len(rows) > most:
        raise Malformed(f"“{name}” holds more than {most}.")
    return rows


def _uuid(row: dict, name: str) -> UUID:
    value = row.get(name)
    try:
        if not isinstance(value, str):
            raise ValueError(name)
        return UUID(value)
    except ValueError as error:
        raise Malformed(f"“{name}” is not an id.") from error


def _uuid_or_none(row: dict, name: str) -> UUID | None:
    return None if row.get(name) is None else _uuid(row, name)


def _number(row: dict, name: str) -> int:
    value = row.get(name)
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= LARGEST_NUMBER:
        raise Malformed(f"“{name}” is not a whole number from 0.")
    return value


def _moment(row: dict, name: str) -> datetime:
    """A time with its zone."""
    value = row.get(name)
    try:
        if not isinstance(value, str):
            raise ValueError(name)
        moment = datetime.fromisoformat(value)
        if moment.utcoffset() is None or moment.year not in CLOCK_YEARS:
            raise ValueError(name)
    except ValueError as error:
        raise Malformed(f"“{name}” is not a time with its zone.") from error
    return moment

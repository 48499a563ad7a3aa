"""Keeping a time-out."""

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from clinic.audit.services import Trail
from records.time_out.enums import Item
from records.time_out.errors import TimeOutConflict
from records.time_out.models import TimeOutCheck

CHECK_FIELDS = ["item", "is_confirmed", "note", "facts", "at", "by"]


@dataclass(frozen=True)
class Answer:
    """What was said of one item; `note` says why where it is not confirmed."""

    item: Item
    is_confirmed: bool
    note: str = ""
    facts: str = ""


def note_time_out(
    *, session, key: uuid.UUID, answers: Sequence[Answer], at: datetime, by, trail: Trail
) -> list[TimeOutCheck]:
    """
    Store one time-out once, however often it is sent. The caller holds the session's lock.

    Raises:
        TimeOutConflict: the key was sent before with other content.
    """
    if stored := list(TimeOutCheck.objects.filter(key=key)):
        said = {(row.item, row.is_confirmed, row.note) for row in stored}
        is_same = said == {(one.item, one.is_confirmed, one.note) for one in answers}
        if not is_same or stored[0].session_id != session.pk:
            raise TimeOutConflict("This time-out was stored before with other content.")
        return stored
    rows = TimeOutCheck.objects.bulk_create(
        TimeOutCheck(key=key, session_id=session.pk, at=at, by=by, **vars(answer))
        for answer in answers
    )
    confirmed = [answer.item.label for answer in answers if answer.is_confirmed]
    others = {answer.item.label: answer.note for answer in answers if not answer.is_confirmed}
    trail.add(
        "time_out.done",
        rows[0],
        patient_id=session.patient_id,
        after={"session": session.pk, "confirmed": confirmed, "not confirmed": others},
    )
    return rows

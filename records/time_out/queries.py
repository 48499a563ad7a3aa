"""Time-outs as they were done."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from uuid import UUID

from records.time_out.enums import Item
from records.time_out.models import TimeOutCheck


@dataclass(frozen=True)
class TimeOut:
    """One time-out: its items in their order."""

    key: UUID
    at: datetime
    by: str
    checks: list[TimeOutCheck]

    @property
    def not_confirmed(self) -> list[TimeOutCheck]:
        return [check for check in self.checks if not check.is_confirmed]

    @property
    def exceptions(self) -> str:
        """ "Photographs: none wanted; emergency kit: in the next room", "" where all was so."""
        said = [f"{Item(check.item).short}: {check.note}" for check in self.not_confirmed]
        text = "; ".join(said)
        return text[:1].upper() + text[1:]


def time_outs_of_sessions(sessions: Iterable[int]) -> dict[int, list[TimeOut]]:
    """By session, the first one first: one query."""
    rows = TimeOutCheck.objects.filter(session__in=list(sessions)).select_related("by")
    found: dict[int, list[TimeOut]] = defaultdict(list)
    in_order = sorted(rows.order_by("id"), key=lambda row: (row.at, str(row.key)))
    for key, group in groupby(in_order, key=lambda row: row.key):
        checks = list(group)
        first = checks[0]
        found[first.session_id].append(TimeOut(key, first.at, str(first.by), checks))
    return found

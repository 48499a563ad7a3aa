"""Who did what with a record, as CSV: rows in words, read and told some hundreds at a time."""

from collections.abc import Iterable, Iterator
from itertools import islice

from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.audit.wording import Told, told
from clinic.printing.csv_files import as_text, csv_lines
from planning.act_kinds import kind_of

COLUMNS = [
    "entry", "at", "person", "kind", "act", "thing", "record_number", "reason", "before", "after",
]  # fmt: skip
AT_ONCE = 500


def accesses_as_csv(events: Iterable[AuditEvent]) -> Iterator[str]:
    return csv_lines(COLUMNS, _rows(iter(events)))


def _rows(events: Iterator[AuditEvent]) -> Iterator[list[object]]:
    while some := list(islice(events, AT_ONCE)):
        yield from map(_row, told(some))


def _row(line: Told) -> list[object]:
    return [
        line.event.id,
        timezone.localtime(line.event.at).isoformat(timespec="seconds"),
        as_text(line.who),
        kind_of(line.event.action).value,
        as_text(line.what),
        as_text(line.subject),
        line.patient,
        as_text(line.reason),
        as_text("; ".join(f"{one.label}: {one.before}" for one in line.changes)),
        as_text("; ".join(f"{one.label}: {one.after}" for one in line.changes)),
    ]

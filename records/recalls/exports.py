"""The call list as CSV."""

from collections.abc import Iterator

from django.utils import timezone

from clinic.printing.csv_files import as_text, csv_lines
from planning.amounts import plain_number
from planning.vocabulary import Measure
from records.recalls.models import RecallCase
from records.recalls.queries.people import CallList, CallRow

UNIT_WORD = {Measure.VOLUME: "mL", Measure.DOSE: "units"}
COLUMNS = [
    "case", "record_number", "name", "birth_date", "prefers", "phone", "email", "address", "state",
    "attempts", "last_attempt", "appointment", "sessions", "points", "amounts", "last_treated",
    "found", "no_way",
]  # fmt: skip


def call_list_as_csv(people: CallList) -> Iterator[str]:
    """The list line by line, header first; in a drill each line begins with the word."""
    return csv_lines(COLUMNS, (_cells(people.case, row) for row in people))


def _cells(case: RecallCase, row: CallRow) -> tuple:
    who, tried = row.contact, row.tried
    return (
        f"DRILL {case.number}" if case.is_drill else case.number,
        who.record_number,
        as_text(who.name),
        who.birth_date.isoformat(),
        who.channel.label,
        as_text(who.phone),
        as_text(who.email),
        as_text(", ".join(who.address.splitlines())),
        tried.reach.label,
        tried.attempts,
        _moment(tried.last_at),
        _moment(who.booked_at),
        row.sessions,
        row.points,
        as_text("; ".join(_amounts(row))),
        _moment(row.last_at),
        _moment(who.added_at),
        as_text(who.unreachable_note),
    )


def _amounts(row: CallRow) -> Iterator[str]:
    """ "HA filler 1 mL: 0.4 mL", a product each: amounts of two are never added."""
    for product, amount in row.amounts:
        number = plain_number(amount, product.measure)
        yield f"{product.name}: {number} {UNIT_WORD[product.measure]}"


def _moment(at) -> str:
    """Day and time by the clinic's clock, or nothing."""
    return f"{timezone.localtime(at):%Y-%m-%d %H:%M}" if at else ""

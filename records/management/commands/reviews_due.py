"""Reviews that are due, for a person or for another program."""

import json
from datetime import date

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from records.reviews.queries.work_list import OpenReview, open_reviews

COLUMNS = ("due", "latest", "state", "kind", "record_number", "name")


class Command(BaseCommand):
    help = "Lists open reviews due on or before a day, oldest first: due, overdue or booked."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--on", metavar="YYYY-MM-DD", help="the day asked about; today if left")
        parser.add_argument("--format", choices=("table", "json"), default="table")

    def handle(self, *args, **options) -> None:
        on = self._day(options["on"]) if options["on"] is not None else timezone.localdate()
        rows = [_as_dict(review) for review in open_reviews(on, until=on)]
        if options["format"] == "json":
            answer = {"on": on.isoformat(), "reviews": rows}
            self.stdout.write(json.dumps(answer, ensure_ascii=False, indent=2))
        else:
            self._write_table(on, rows)

    def _day(self, text: str) -> date:
        try:
            day = date.fromisoformat(text)
        except ValueError as error:
            raise CommandError(
                f"--on: {text!r} is not a day. Write it as YYYY-MM-DD, for example 2026-11-25."
            ) from error
        if day.isoformat() != text:
            raise CommandError(f"--on: write {text!r} as {day.isoformat()}.")
        if not 1900 <= day.year <= 9000:
            raise CommandError(f"--on: the year {day.year} is out of range.")
        return day

    def _write_table(self, on: date, rows: list[dict]) -> None:
        if not rows:
            self.stdout.write(f"No review is due on {on}.")
            return
        widths = [max(len(column), *(len(row[column]) for row in rows)) for column in COLUMNS]
        for line in [dict(zip(COLUMNS, COLUMNS, strict=True)), *rows]:
            cells = (line[name].ljust(width) for name, width in zip(COLUMNS, widths, strict=True))
            self.stdout.write("  ".join(cells).rstrip())


def _as_dict(review: OpenReview) -> dict[str, str | None]:
    """`due` and `state` are `target` and `standing` by the names they had before windows came."""
    return {
        "record_number": review.record_number,
        "name": review.patient,
        "kind": review.kind,
        "due": review.due_on.isoformat(),
        "state": review.standing.value,
        "earliest": review.earliest_on.isoformat(),
        "target": review.due_on.isoformat(),
        "latest": review.latest_on.isoformat(),
        "standing": review.standing.value,
        "rule": review.rule,
        "moved_from": review.moved_from.isoformat() if review.moved_from else None,
    }

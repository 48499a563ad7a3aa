"""Reckoning open reviews anew after rules, closures or holidays were changed."""

import json

from django.core.management.base import BaseCommand, CommandError, CommandParser

from planning.review_dates import ReviewDateError
from records.reviews.services.recomputing import Change, recompute


class Command(BaseCommand):
    help = (
        "Gives every open review the dates of today's rules and opening days. What is booked or "
        "was moved by hand stays."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--dry-run", action="store_true", help="say it and change nothing")
        parser.add_argument("--format", choices=("table", "json"), default="table")

    def handle(self, *args, **options) -> None:
        try:
            changes = recompute(actor=None, dry_run=options["dry_run"])
        except ReviewDateError as error:
            raise CommandError(str(error)) from error
        rows = [_as_dict(change) for change in changes]
        if options["format"] == "json":
            answer = {"dry_run": options["dry_run"], "changes": rows}
            self.stdout.write(json.dumps(answer, ensure_ascii=False, indent=2))
            return
        for row in rows:
            self.stdout.write(
                f"{row['record_number']}  {row['from'] or 'new'} -> {row['to'] or 'stays'}  "
                f"{row['rule'] or 'no rule asks for it any more'}"
            )
        verb = "would change" if options["dry_run"] else "changed"
        self.stdout.write(f"{len(rows)} reviews {verb}")


def _as_dict(change: Change) -> dict[str, str | None]:
    """`from` is null for a further review, `to` and `rule` where no rule asks for it any more."""
    review, visit = change.review, change.visit
    return {
        "record_number": change.patient.record_number,
        "from": review.due_on.isoformat() if review else None,
        "earliest": visit.earliest.isoformat() if visit else None,
        "to": visit.target.isoformat() if visit else None,
        "latest": visit.latest.isoformat() if visit else None,
        "rule": visit.words if visit else None,
    }

"""`manage.py import_stock FILE [--dry-run] [--by USERNAME] [--sure]`"""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from clinic.receiving.errors import ListRefused
from clinic.receiving.services.list_checks import CheckedList, check_list
from clinic.receiving.services.lists import digest_of, receive_list
from clinic.staff.models import User
from clinic.stock.models import unit_label
from planning.csv_text import CsvError, decode


class Command(BaseCommand):
    help = (
        "Take in an opening stock list (CSV) as a whole, or nothing of it. Rows that cannot be "
        "taken in are named with what to do. A list that was taken in before is not taken in again."
    )

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path, help="the list; see the sample on the page")
        parser.add_argument("--dry-run", action="store_true", help="only say what would happen")
        parser.add_argument("--by", default="", help="user name of the owner who takes it in")
        parser.add_argument("--sure", action="store_true", help="the questions were looked at")

    def handle(self, *, file: Path, dry_run: bool, by: str, sure: bool, **options):
        try:
            text = decode(file.read_bytes())
            checked = check_list(text, today=timezone.localdate())
        except (OSError, CsvError) as error:
            raise CommandError(str(error)) from error
        self._tell(checked)
        if checked.bad_rows:
            raise CommandError(f"{len(checked.bad_rows)} rows to correct. Nothing was received.")
        if dry_run:
            self.stdout.write("A dry run: nothing was received.")
            return
        if checked.doubts and not sure:
            raise CommandError("Nothing was received: look at the questions, then add --sure.")
        self._receive(text, checked, by)

    def _tell(self, checked: CheckedList) -> None:
        for row in checked.bad_rows:
            for problem in row.problems:
                self.stdout.write(f"Row {row.number}: {problem}")
        if checked.unknown_columns:
            self.stdout.write(f"Columns not read: {', '.join(checked.unknown_columns)}")
        if not checked.bad_rows:
            for doubt in checked.doubts:
                self.stdout.write(f"Question: {doubt.message}")
        self.stdout.write(
            f"{checked.rows} rows, {len(checked.lines)} in order, {checked.units} units in them"
        )

    def _receive(self, text: str, checked: CheckedList, by: str) -> None:
        owner = User.objects.filter(username=by, is_owner=True, is_active=True).first()
        if owner is None:
            raise CommandError("Say with --by which owner takes it in: the ledger names a person.")
        try:
            receipt, is_new = receive_list(text=text, digest=digest_of(checked), actor=owner)
        except ListRefused as error:
            raise CommandError(str(error)) from error
        if not is_new:
            self.stdout.write(
                f"This list was taken in on {timezone.localtime(receipt.at):%Y-%m-%d %H:%M} "
                "already: nothing was received again."
            )
            return
        first, last = unit_label(receipt.first_number), unit_label(receipt.last_number)
        self.stdout.write(f"{receipt.units} units received, labels {first} to {last}")

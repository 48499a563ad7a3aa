"""`manage.py plan_units PLAN.json --format table|json`"""

import json
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from planning.allocation.document import PlanFileError, answer, read_plan
from planning.allocation.plan import allocate

LARGEST_FILE = 5_000_000


class Command(BaseCommand):
    help = (
        "Show which units to open for a plan in a file: least waste or least cost, no unit for two "
        "products, regions whole in one lot where that can be. Exit 1 if the shelf does not hold "
        "enough. What the file says is described in docs/plan-units.md."
    )
    # Reads no database, so a broken or missing one is no reason to refuse.
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("plan", type=Path, metavar="PLAN.json")
        parser.add_argument("--format", choices=["table", "json"], default="table")

    def handle(self, *, plan: Path, format: str, **options):
        try:
            read = read_plan(_content(plan))
        except PlanFileError as error:
            raise CommandError(str(error), returncode=2) from error
        found = allocate(
            read.lines,
            read.packs,
            read.open_units,
            preference=read.preference,
            one_plane_a_unit=read.one_plane_a_unit,
        )
        shown = answer(read, found)
        {"table": self._table, "json": self._json}[format](shown)
        if found.shortages:
            raise CommandError("The shelf does not hold enough: see what is missing.", returncode=1)

    def _json(self, shown: dict) -> None:
        self.stdout.write(json.dumps(shown, ensure_ascii=False, indent=2))

    def _table(self, shown: dict) -> None:
        for row in shown["open"]:
            self.stdout.write(f"Open {row['units']} of {row['id']}: {row['product']}, {row['lot']}")
        for row in shown["draws"]:
            self.stdout.write(f"  {row['line']}: {row['amount']} from {row['unit']} ({row['lot']})")
        for product, amount in shown["waste"].items():
            self.stdout.write(f"Waste of {product}: {amount}")
        self.stdout.write(f"Cost: {shown['cost']}")
        for product, amount in shown["missing"].items():
            self.stdout.write(f"Missing of {product}: {amount}")


def _content(path: Path):
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise PlanFileError(f"{path}: larger than {LARGEST_FILE:,} bytes.")
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise PlanFileError(f"{path}: cannot be read ({error}).") from error
    try:
        return json.loads(text)
    except (ValueError, RecursionError) as error:  # a number of thousands of digits is no value
        raise PlanFileError(f"{path}: no JSON ({error}).") from error

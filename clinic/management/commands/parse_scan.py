"""`manage.py parse_scan 'STRING' --format table|json`"""

import json
import sys

from django.core.management.base import BaseCommand
from django.utils import timezone

from planning.codes.dates import written
from planning.scan import Scan, read_scan


class Command(BaseCommand):
    help = (
        "Show what a scanned code says of a pack: product number, lot, expiry, serial number. "
        "Exit 1 if the code is refused. Put -- before a code that begins with a hyphen."
    )
    # Reads no database, so a broken or missing one is no reason to refuse.
    requires_system_checks = []
    refused = False

    def add_arguments(self, parser):
        parser.add_argument("code", metavar="STRING", help="what the scanner sent, in quotes")
        parser.add_argument("--format", choices=["table", "json"], default="table")

    def run_from_argv(self, argv):
        super().run_from_argv(argv)
        if self.refused:
            sys.exit(1)

    def handle(self, *, code: str, format: str, **options):
        scan = read_scan(code, today=timezone.localdate())
        self.refused = bool(scan.error)
        {"table": self._table, "json": self._json}[format](scan)

    def _json(self, scan: Scan) -> None:
        answer = {
            "gtin": scan.gtin or None,
            "lot": scan.lot or None,
            "expiry": scan.expiry.isoformat() if scan.expiry else None,
            "serial": scan.serial or None,
            "warnings": list(scan.warnings),
            "error": scan.error or None,
        }
        self.stdout.write(json.dumps(answer, ensure_ascii=False, indent=2))

    def _table(self, scan: Scan) -> None:
        rows = [
            ("Product number", scan.gtin),
            ("Lot", scan.lot),
            ("Expiry", written(scan.expiry) if scan.expiry else ""),
            ("Serial number", scan.serial),
            *(("Warning", warning) for warning in scan.warnings),
            ("Refused", scan.error),
        ]
        for label, value in rows:
            if value:
                self.stdout.write(f"{label:<16}{value}")

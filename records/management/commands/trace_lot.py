"""`manage.py trace_lot LOT [--gtin GTIN] --format table|json|csv`"""

import json

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from clinic.audit.services import record_read
from clinic.stock.models import Lot
from planning.amounts import format_amount
from planning.atlas.regions import Region
from planning.gtin import GtinError, normalise_gtin
from records.imports.queries.treatments import treatments_of_lot
from records.occlusions.queries import doses_of
from records.trace.errors import LotAmbiguous, LotNotFound
from records.trace.exports import (
    FORMER_RECORD,
    OCCLUSION_LOG,
    local_date,
    trace_as_csv,
    trace_as_json,
)
from records.trace.queries import find_lot, trace_rows, trace_summary

TABLE_LINE = "{:<10}  {:<8} {:<28} {:<28} {:<8} {:<16} {:>10}  {:<7}  {}"
TABLE_HEAD = [
    "Date", "Record", "Patient", "Region", "Side", "Plane", "Amount", "Unit", "Injector",
]  # fmt: skip


class Command(BaseCommand):
    help = "Trace a lot to every patient, session, point and amount."

    def add_arguments(self, parser):
        parser.add_argument("lot", help="lot number, exactly as printed")
        parser.add_argument("--gtin", default="", help="needed where products share a lot number")
        parser.add_argument("--format", choices=["table", "json", "csv"], default="table")

    def handle(self, *, lot: str, gtin: str, format: str, **options):
        try:
            found = find_lot(lot, normalise_gtin(gtin) if gtin else "")
        except (LotNotFound, LotAmbiguous, GtinError) as error:
            raise CommandError(str(error)) from error
        record_read(None, found, action="lot.traced")
        write = {"table": self._table, "json": self._json, "csv": self._csv}[format]
        write(found)

    def _json(self, lot) -> None:
        answer = trace_as_json(lot, *_traced(lot))
        self.stdout.write(json.dumps(answer, ensure_ascii=False, indent=2))

    def _csv(self, lot) -> None:
        for line in trace_as_csv(lot, *_traced(lot)):
            self.stdout.write(line, ending="")

    def _table(self, lot) -> None:
        measure = lot.product.measure
        self.stdout.write(TABLE_LINE.format(*TABLE_HEAD))
        for row in trace_rows(lot):
            self.stdout.write(
                TABLE_LINE.format(
                    local_date(row),
                    row.record_number,
                    row.patient_name,
                    Region(row.region).full_label,
                    row.side,
                    row.plane,
                    format_amount(row.amount, measure),
                    row.unit_label,
                    row.injector,
                )
            )
        for dose in doses_of([lot.pk]):
            patient = dose.occlusion.session.patient
            self.stdout.write(
                TABLE_LINE.format(
                    f"{timezone.localdate(dose.at):%Y-%m-%d}",
                    patient.record_number,
                    patient.full_name,
                    dose.place_text,
                    dose.side,
                    OCCLUSION_LOG,
                    format_amount(dose.dose_centiunits or 0, measure),
                    dose.unit.label if dose.unit else "",
                    dose.by.full_name,
                )
            )
        for one in treatments_of_lot(lot.number):
            self.stdout.write(
                TABLE_LINE.format(
                    f"{one.treated_on:%Y-%m-%d}",
                    one.patient.record_number,
                    one.patient.full_name,
                    one.region,
                    "",
                    FORMER_RECORD,
                    one.amount_text,
                    "",
                    one.injector,
                )
            )
        figures = trace_summary(lot)
        self.stdout.write(
            f"{lot}: {figures.patients} patients, {figures.sessions} sessions, "
            f"{figures.points} points, {format_amount(figures.amount, measure)}"
        )


def _traced(lot: Lot) -> tuple:
    """Points, doses of occlusion logs, past treatments of the former record."""
    return trace_rows(lot), doses_of([lot.pk]), treatments_of_lot(lot.number)

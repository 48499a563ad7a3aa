"""A trace as JSON, CSV and text."""

import csv
from collections.abc import Iterable, Iterator
from itertools import groupby

from django.utils import timezone

from clinic.stock.models import Lot
from clinic.stock.queries import lot_stock
from planning.amounts import plain_number
from planning.atlas.regions import Region
from planning.vocabulary import Measure
from records.trace.queries import TraceRow

UNIT_WORD = {Measure.VOLUME: "mL", Measure.DOSE: "units"}
CSV_COLUMNS = [
    "product", "gtin", "lot", "expiry", "record_number", "name", "date", "injector", "point",
    "region", "side", "plane", "technique", "amount", "unit", "unit_of_stock",
]  # fmt: skip


def local_date(row: TraceRow) -> str:
    """The day of treatment in the clinic's time zone, ISO 8601."""
    return timezone.localdate(row.treated_at).isoformat()


def trace_as_json(lot: Lot, rows: Iterable[TraceRow]) -> dict:
    """
    The whole trace as plain values: patients by first treatment, their sessions, their points.

    Amounts are exact decimal text in the unit named beside them; `wasted` is an amount, the other
    figures of `stock` count units.
    """
    measure = lot.product.measure
    by_patient: dict[int, list[TraceRow]] = {}
    for row in rows:
        by_patient.setdefault(row.patient_id, []).append(row)
    stock = lot_stock(lot)
    return {
        "lot": lot.number,
        "gtin": lot.product.gtin,
        "product": lot.product.name,
        "patients": [_patient(rows, measure) for rows in by_patient.values()],
        "stock": {
            "received": stock.received,
            "on_hand": stock.on_hand,
            "opened": stock.opened,
            "wasted": plain_number(stock.wasted, measure),
            "returned": stock.returned,
        },
    }


def _patient(rows: list[TraceRow], measure: Measure) -> dict:
    return {
        "record_number": rows[0].record_number,
        "name": rows[0].patient_name,
        "sessions": [
            _session(list(points), measure)
            for _, points in groupby(rows, key=lambda row: row.session_id)
        ],
        "total": plain_number(sum(row.amount for row in rows), measure),
    }


def _session(rows: list[TraceRow], measure: Measure) -> dict:
    return {
        "date": local_date(rows[0]),
        "injector": rows[0].injector,
        "points": [
            {
                "region": row.region,
                "side": row.side,
                "plane": row.plane,
                "technique": row.technique,
                "amount": plain_number(row.amount, measure),
                "unit": UNIT_WORD[measure],
                "unit_of_stock": row.unit_label,
            }
            for row in rows
        ],
    }


class _Echo:
    """A file that hands each written line straight on, for streaming."""

    def write(self, line: str) -> str:
        return line


def trace_as_csv(lot: Lot, rows: Iterable[TraceRow]) -> Iterator[str]:
    """
    The trace line by line, header first; never the whole of it in memory.

    Each line names product, GTIN, lot and expiry (ISO 8601), so that the files of several lots can
    be put into one. As text without a byte order mark: `trace_lot` hands it on in UTF-8 as it is,
    for programs; the download puts the mark in front (`utf-8-sig`), by which spreadsheet programs
    know UTF-8.
    """
    writer = csv.writer(_Echo())
    measure = lot.product.measure
    of_lot = [
        _as_text(lot.product.name),
        lot.product.gtin or "",
        _as_text(lot.number),
        lot.expires_on.isoformat(),
    ]
    yield writer.writerow(CSV_COLUMNS)
    for row in rows:
        yield writer.writerow(
            [
                *of_lot,
                row.record_number,
                _as_text(row.patient_name),
                local_date(row),
                _as_text(row.injector),
                row.number,
                Region(row.region).full_label,
                row.side,
                row.plane,
                row.technique,
                plain_number(row.amount, measure),
                UNIT_WORD[measure],
                row.unit_label,
            ]
        )


def _as_text(name: str) -> str:
    """A typed name or number that a spreadsheet would read as a formula is marked as text."""
    return f"'{name}" if name.startswith(("=", "+", "-", "@", "\t", "\r")) else name

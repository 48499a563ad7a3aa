"""A trace as JSON and CSV, from a lot and from a patient."""

from collections.abc import Iterable, Iterator
from itertools import chain, groupby, starmap

from django.utils import timezone

from clinic.printing.csv_files import as_text, csv_lines
from clinic.stock.models import Lot
from clinic.stock.queries import lot_stock
from planning.amounts import plain_number
from planning.atlas.regions import Region
from planning.vocabulary import Measure
from records.imports.models import ImportedTreatment
from records.occlusions.models import OcclusionEntry
from records.patients.models import Patient
from records.sessions.queries.received import Received
from records.trace.queries.points import TraceRow
from records.trace.queries.search import LotHead

UNIT_WORD = {Measure.VOLUME: "mL", Measure.DOSE: "units"}
# In the place of a technique.
OCCLUSION_LOG = "occlusion_log"
FORMER_RECORD = "former_record_as_imported"
CSV_COLUMNS = [
    "product", "gtin", "lot", "expiry", "record_number", "name", "date", "injector", "point",
    "region", "side", "plane", "technique", "amount", "unit", "unit_of_stock", "serial",
]  # fmt: skip
RECEIVED_COLUMNS = [
    "record_number", "name", "date", "injector", "product", "maker", "gtin", "lot", "expiry",
    "unit_of_stock", "serial", "regions", "points", "amount", "unit", "quarantined_because",
]  # fmt: skip


def local_date(row: TraceRow) -> str:
    """The day of treatment in the clinic's time zone, ISO 8601."""
    return timezone.localdate(row.treated_at).isoformat()


def trace_as_json(
    lot: Lot,
    rows: Iterable[TraceRow],
    doses: Iterable[OcclusionEntry] = (),
    former: Iterable[ImportedTreatment] = (),
) -> dict:
    """
    The whole trace as plain values: patients by first treatment, their sessions, their points.

    Amounts are exact decimal text in the unit named beside them; `wasted` is an amount, the other
    figures of `stock` count units. Doses of occlusion logs are no points, and stand by themselves;
    so do past treatments of the former record, whose product is known in its own words only.
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
        "occlusion_logs": [_dose(dose) for dose in doses],
        "former_record": [_former(one) for one in former],
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


def _dose(dose: OcclusionEntry) -> dict:
    patient = dose.occlusion.session.patient
    return {
        "record_number": patient.record_number,
        "name": patient.full_name,
        "at": timezone.localtime(dose.at).isoformat(timespec="minutes"),
        "by": dose.by.full_name,
        "place": dose.place_text,
        "amount": plain_number(dose.dose_centiunits or 0, Measure.DOSE),
        "unit": UNIT_WORD[Measure.DOSE],
        "unit_of_stock": dose.unit.label if dose.unit else "",
    }


def _former(one: ImportedTreatment) -> dict:
    return {
        "record_number": one.patient.record_number,
        "name": one.patient.full_name,
        "date": one.treated_on.isoformat(),
        "product": one.product,
        "region": one.region,
        "amount": _former_amount(one),
        "unit": UNIT_WORD[Measure(one.measure)] if one.measure else "",
        "imported_on": timezone.localdate(one.imported_at).isoformat(),
    }


def _former_amount(one: ImportedTreatment) -> str:
    return plain_number(one.amount, Measure(one.measure)) if one.amount else ""


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


def points_as_csv(points: Iterable[tuple[LotHead, TraceRow]]) -> Iterator[str]:
    """
    Points line by line, header first; never the whole of it in memory.

    Each line names product, GTIN, lot and expiry (ISO 8601), so that the points of several lots
    stand in one file.
    """
    return csv_lines(CSV_COLUMNS, starmap(_point_cells, points))


def trace_as_csv(
    lot: Lot,
    rows: Iterable[TraceRow],
    doses: Iterable[OcclusionEntry] = (),
    former: Iterable[ImportedTreatment] = (),
) -> Iterator[str]:
    """
    The trace of one lot, as `points_as_csv`, then what is no point: doses of occlusion logs, and
    past treatments of the former record.
    """
    head = LotHead.of(lot)
    points = starmap(_point_cells, ((head, row) for row in rows))
    logged = (_dose_cells(head, dose) for dose in doses)
    return csv_lines(CSV_COLUMNS, chain(points, logged, map(_former_cells, former)))


def _former_cells(one: ImportedTreatment) -> tuple:
    return (
        as_text(one.product),
        "",
        as_text(one.lot),
        "",
        one.patient.record_number,
        as_text(one.patient.full_name),
        one.treated_on.isoformat(),
        as_text(one.injector),
        "",
        as_text(one.region),
        "",
        "",
        FORMER_RECORD,
        _former_amount(one),
        UNIT_WORD[Measure(one.measure)] if one.measure else "",
        "",
        "",
    )


def _dose_cells(lot: LotHead, dose: OcclusionEntry) -> tuple:
    patient = dose.occlusion.session.patient
    return (
        as_text(lot.product),
        lot.gtin or "",
        as_text(lot.number),
        lot.expires_on.isoformat(),
        patient.record_number,
        as_text(patient.full_name),
        timezone.localdate(dose.at).isoformat(),
        as_text(dose.by.full_name),
        "",
        as_text(dose.place_text),
        dose.side,
        "",
        OCCLUSION_LOG,
        plain_number(dose.dose_centiunits or 0, lot.measure),
        UNIT_WORD[lot.measure],
        dose.unit.label if dose.unit else "",
        as_text(dose.unit.serial) if dose.unit else "",
    )


def _point_cells(lot: LotHead, row: TraceRow) -> tuple:
    return (
        as_text(lot.product),
        lot.gtin or "",
        as_text(lot.number),
        lot.expires_on.isoformat(),
        row.record_number,
        as_text(row.patient_name),
        local_date(row),
        as_text(row.injector),
        row.number,
        Region(row.region).full_label,
        row.side,
        row.plane,
        row.technique,
        plain_number(row.amount, lot.measure),
        UNIT_WORD[lot.measure],
        row.unit_label,
        as_text(row.serial),
    )


def received_as_csv(patient: Patient, received: Iterable[Received]) -> Iterator[str]:
    """What one patient received, a line for each unit of stock in each session."""
    rows = (_received_cells(patient, row) for row in received)
    return csv_lines(RECEIVED_COLUMNS, rows)


def _received_cells(patient: Patient, row: Received) -> tuple:
    lot, measure = row.lot, row.lot.product.measure
    return (
        patient.record_number,
        as_text(patient.full_name),
        timezone.localdate(row.session.started_at).isoformat(),
        as_text(row.session.injector.full_name),
        as_text(lot.product.name),
        as_text(lot.product.maker),
        lot.product.gtin or "",
        as_text(lot.number),
        lot.expires_on.isoformat(),
        row.unit.label,
        as_text(row.unit.serial),
        "; ".join(row.regions),
        row.points,
        plain_number(row.amount, measure),
        UNIT_WORD[measure],
        as_text(row.held_because),
    )

"""
What the report forms of authorities ask about an adverse event, as far as the record knows it.

The fields are those that the published requirements have in common, `REPORT_SOURCES`; each
authority has a form of its own. The patient goes by the record number, without a name.
"""

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import NamedTuple

from django.utils import timezone

from clinic.policy.queries import current_policy
from clinic.printing.csv_files import as_text, csv_lines
from planning.ages import age_years
from planning.amounts import format_amount
from planning.sources import EVENT_REPORT_DEVICE, EVENT_REPORT_MEDICINE
from planning.vocabulary import Measure
from records.adverse_events.enums import Grade
from records.adverse_events.models import AdverseEvent
from records.adverse_events.queries import point_words
from records.sessions.models import InjectionEntry

REPORT_SOURCES = (EVENT_REPORT_MEDICINE, EVENT_REPORT_DEVICE)
COLUMNS = ["section", "field", "value"]
_PATIENT, _EVENT, _PRODUCT, _REPORTER = "Patient", "Event", "Suspected product", "Reporter"


class ReportField(NamedTuple):
    """One line of a report; an empty value is one that the record does not hold."""

    section: str
    label: str
    value: str


def report_fields(event: AdverseEvent) -> list[ReportField]:
    """The lines in the order of their sections; three queries."""
    points = list(event.points.select_related("session", "unit__lot__product"))
    return [*_patient(event), *_event(event), *_product(event, points), *_reporter(event)]


def _patient(event: AdverseEvent) -> Iterator[ReportField]:
    patient = event.patient
    age = age_years(patient.birth_date, event.onset_on)
    yield ReportField(_PATIENT, "Code", patient.record_number)
    yield ReportField(_PATIENT, "Age at the first signs", f"{age} years")
    yield ReportField(_PATIENT, "Sex", patient.get_sex_display())


def _event(event: AdverseEvent) -> Iterator[ReportField]:
    days = event.days_after
    yield ReportField(_EVENT, "First signs", event.onset_on.isoformat())
    yield ReportField(_EVENT, "Days after the treatment", "" if days is None else str(days))
    yield ReportField(_EVENT, "Early or delayed", event.timing.label if event.timing else "")
    yield ReportField(_EVENT, "Description", event.signs)
    yield ReportField(_EVENT, "Place", event.place)
    yield ReportField(_EVENT, "Severity (CTCAE v5.0)", Grade(event.grade).label)
    yield ReportField(_EVENT, "Seriousness (ICH E2A)", event.get_seriousness_display())
    yield ReportField(_EVENT, "Causality (WHO-UMC)", event.get_causality_display())
    yield ReportField(_EVENT, "Treatment of the event", event.actions)
    yield ReportField(_EVENT, "Outcome", event.get_outcome_display())


def _product(event: AdverseEvent, points: Sequence[InjectionEntry]) -> Iterator[ReportField]:
    product, lot, unit = event.suspected_product, event.lot, event.unit
    yield ReportField(_PRODUCT, "Product", product.name if product else "")
    yield ReportField(_PRODUCT, "Kind", product.get_kind_display() if product else "")
    yield ReportField(_PRODUCT, "Maker", product.maker if product else "")
    yield ReportField(_PRODUCT, "Device identifier (GTIN)", (product and product.gtin) or "")
    yield ReportField(_PRODUCT, "Lot", lot.number if lot else "")
    yield ReportField(_PRODUCT, "Expiry", lot.expires_on.isoformat() if lot else "")
    yield ReportField(_PRODUCT, "Serial number", (unit and unit.serial) or "")
    yield ReportField(_PRODUCT, "Given on", _day(event))
    yield ReportField(_PRODUCT, "Given by", str(event.session.injector) if event.session else "")
    for point in points:
        amount = format_amount(point.amount, Measure(point.measure))
        how = f"{point.get_plane_display()}, {point.get_technique_display()}"
        words = f"{point_words(point)}; {amount}; {how}; {point.instrument_text}"
        yield ReportField(_PRODUCT, "Point", words)


def _day(event: AdverseEvent) -> str:
    return timezone.localdate(event.session.started_at).isoformat() if event.session else ""


def _reporter(event: AdverseEvent) -> Iterator[ReportField]:
    clinic = current_policy()
    writer = event.recorded_by
    yield ReportField(_REPORTER, "Name", writer.full_name)
    yield ReportField(_REPORTER, "Registration", writer.registration_number)
    yield ReportField(_REPORTER, "Clinic", clinic.name)
    yield ReportField(_REPORTER, "Address", " ".join(clinic.address.split()))
    yield ReportField(_REPORTER, "Telephone", clinic.phone)
    yield ReportField(_REPORTER, "E-mail", clinic.email)
    yield ReportField(
        _REPORTER, "Written down on", timezone.localdate(event.recorded_at).isoformat()
    )


def by_section(fields: Sequence[ReportField]) -> list[tuple[str, list[ReportField]]]:
    """The lines under the heading of their section."""
    return [(name, list(rows)) for name, rows in groupby(fields, key=lambda row: row.section)]


def report_csv(fields: Sequence[ReportField]) -> Iterator[str]:
    """A line for each field; what people typed is marked as text."""
    return csv_lines(COLUMNS, ((row.section, row.label, as_text(row.value)) for row in fields))

"""Reading what patients had elsewhere."""

from datetime import datetime

from planning.care import CareElsewhere
from records.elsewhere.models import ReportedCare
from records.patients.models import Patient


def care_known_at(patient: Patient, moment: datetime | None) -> tuple[CareElsewhere, ...]:
    """What the record held then, or holds now for None: one query."""
    reports = ReportedCare.objects.filter(patient=patient)
    known = reports.standing() if moment is None else reports.known_at(moment)
    return tuple(report.as_care for report in known.order_by("id"))

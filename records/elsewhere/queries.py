"""Reading what patients had elsewhere."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime

from planning.care import CareElsewhere
from records.elsewhere.models import ReportedCare


def reports_by_patient(patients: Iterable[int]) -> dict[int, list[ReportedCare]]:
    """All that was ever reported, withdrawn or not, in the order it was told: one query."""
    reports: dict[int, list[ReportedCare]] = defaultdict(list)
    for report in ReportedCare.objects.filter(patient__in=set(patients)).order_by("id"):
        reports[report.patient_id].append(report)
    return reports


def care_known_at(
    reports: Iterable[ReportedCare], moment: datetime | None
) -> tuple[CareElsewhere, ...]:
    """What the record held then of these reports, or holds now for None."""
    return tuple(
        report.as_care
        for report in reports
        if (report.was_known_at(moment) if moment else report.withdrawn_at is None)
    )

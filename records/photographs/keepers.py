"""What photographs have to say before a session is opened."""

from collections.abc import Iterator

from django.urls import reverse

from planning.sources import PHOTO_SERIES
from planning.standard_views import merged
from records.gates.registry import Asked, Gate
from records.patients.enums import AlertLevel
from records.patients.models import Patient
from records.photographs.queries import all_series, taken_on_day_of


def photograph_gates(asked: Asked) -> Iterator[tuple[Patient, Gate]]:
    """A note that names what is missing of the day's series."""
    series = all_series()
    taken = taken_on_day_of([patient.pk for patient in asked.kinds], asked.now)
    for patient, kinds in asked.kinds.items():
        wanted = merged(each.shots for each in series if each.kind in kinds)
        missing = [shot for shot in wanted if shot not in taken[patient.pk]]
        if missing:
            yield (
                patient,
                Gate(
                    key="photographs",
                    level=AlertLevel.NOTE,
                    title=f"{len(missing)} of {len(wanted)} photographs are to be taken",
                    text="Missing: " + "; ".join(shot.label for shot in missing) + ".",
                    source=f"The clinic’s series; {PHOTO_SERIES}",
                    url=reverse("photograph-take", args=[patient.pk]),
                ),
            )

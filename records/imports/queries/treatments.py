"""What came of imports: the past treatments of a patient, and of a lot."""

from django.db.models import QuerySet

from records.imports.models import ImportedTreatment
from records.patients.models import Patient


def treatments_of(patient: Patient) -> QuerySet[ImportedTreatment]:
    """The latest first."""
    return patient.imported_treatments.select_related("imported_by")


def treatments_of_lot(number: str) -> QuerySet[ImportedTreatment]:
    """
    Those for which the former record gives exactly this lot number. Of which product is told in its
    own words only, so a person compares; the "not empty" repeats the index's condition.
    """
    of_lot = ImportedTreatment.objects.exclude(lot="").filter(lot=number)
    return of_lot.select_related("patient").order_by(
        "patient__full_name", "patient_id", "-treated_on"
    )

"""Which patients are members of staff, as the owner says."""

from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.audit.services import acting
from clinic.staff.models import User
from records.patients.models import Patient
from records.record_access.errors import RecordAccessError
from records.record_access.models import StaffPatient


def say_whether_same(*, person: User, patient: Patient, is_same: bool, actor: User) -> StaffPatient:
    """
    Note that a patient is a member of staff, or that they only bear one name. It can be said anew.

    Raises:
        RecordAccessError: the person has another record, or the patient is another person.
    """
    with acting(actor) as trail:
        stored = (
            StaffPatient.objects.select_for_update().filter(person=person, patient=patient).first()
        )
        before = {"is_same": stored.is_same} if stored else None
        said = stored or StaffPatient(person=person, patient=patient)
        said.is_same, said.said_by, said.said_at = is_same, actor, timezone.now()
        try:
            with transaction.atomic():
                said.save()
        except IntegrityError as error:
            raise RecordAccessError(
                "Another record is noted as this person’s, or this record as another person’s. "
                "Take that back first."
            ) from error
        trail.add(
            "staff_patient.said",
            said,
            patient_id=patient.pk,
            before=before,
            after={"person": person.pk, "is_same": is_same},
        )
    return said

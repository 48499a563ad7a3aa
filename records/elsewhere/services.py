"""Writing down what a patient had elsewhere, and withdrawing it."""

from django.utils import timezone

from clinic.audit.services import acting, snapshot
from records.elsewhere.errors import AlreadyWithdrawn, ReasonMissing
from records.elsewhere.models import ReportedCare

REPORT_FIELDS = ["kind", "day", "precision", "region", "family", "centiunits", "note"]


def report_care(*, care: ReportedCare, actor) -> ReportedCare:
    """Write down what the patient tells."""
    with acting(actor) as trail:
        care.reported_at, care.reported_by = timezone.now(), actor
        care.save()
        after = snapshot(care, REPORT_FIELDS)
        trail.add("reported_care.added", care, patient_id=care.patient_id, after=after)
    return care


def withdraw_care(*, care: ReportedCare, reason: str, actor) -> ReportedCare:
    """
    Take back what was not so. It stays in the record; the reason is in the audit trail.

    Raises:
        ReasonMissing: no reason.
        AlreadyWithdrawn: somebody was quicker.
    """
    if not reason.strip():
        raise ReasonMissing("Say why it is withdrawn: the reason stays in the audit trail.")
    with acting(actor) as trail:
        stored = ReportedCare.objects.select_for_update(of=("self",)).get(pk=care.pk)
        if stored.withdrawn_at is not None:
            raise AlreadyWithdrawn("This was withdrawn already.")
        stored.withdrawn_at, stored.withdrawn_by = timezone.now(), actor
        stored.save(update_fields=["withdrawn_at", "withdrawn_by"])
        trail.add(
            "reported_care.withdrawn",
            stored,
            patient_id=stored.patient_id,
            before=snapshot(stored, REPORT_FIELDS),
            reason=reason.strip(),
        )
    return stored

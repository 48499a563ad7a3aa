"""What is on record of a patient that booking asks about."""

from datetime import date

from django.db.models import Max, Q
from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from planning.booking_advice import (
    Advice,
    BookingPolicy,
    OpenReview,
    PatientFacts,
    booking_advice,
)
from planning.vocabulary import ProductKind
from records.appointments.enums import AppointmentState
from records.patients.enums import AlertKind
from records.patients.models import Patient

_TOXIN = Q(points__unit__lot__product__kind=ProductKind.TOXIN, points__removed_at__isnull=True)


def advice_for(patient: Patient, kind: str, day: date) -> list[Advice]:
    """What to know before booking a visit of `kind` on `day`."""
    return booking_advice(kind, day, patient_facts(patient), booking_policy(current_policy()))


def booking_policy(policy: ClinicPolicy) -> BookingPolicy:
    return BookingPolicy(
        minimum_age_years=policy.minimum_age_years,
        top_up_wait_days=policy.top_up_wait_days,
        toxin_interval_days=policy.toxin_interval_days,
        cooling_off_days=policy.cooling_off_days,
    )


def patient_facts(patient: Patient) -> PatientFacts:
    """
    Five queries. Sessions, reviews and adverse events are reached by their reverse names: this
    capability knows nothing of those that stand on it.
    """
    sessions = patient.sessions.signed()
    last = sessions.aggregate(treated=Max("started_at"), toxin=Max("started_at", filter=_TOXIN))
    consulted = (
        patient.appointments.filter(kind="consultation", state=AppointmentState.DONE)
        .order_by("starts_at")
        .values_list("starts_at", flat=True)
        .first()
    )
    reviews = patient.reviews.still_open().values_list("kind", "earliest_on", "due_on", "latest_on")
    notes = patient.alerts.current().filter(kind=AlertKind.ACCOUNT)
    return PatientFacts(
        birth_date=patient.birth_date,
        treated_on=_day(last["treated"]),
        toxin_on=_day(last["toxin"]),
        consulted_on=_day(consulted),
        reviews=[OpenReview(kind == "top_up", *days) for kind, *days in reviews],
        has_open_event=patient.adverse_events.still_open().exists(),
        account_notes=list(notes.values_list("text", flat=True)),
    )


def _day(moment) -> date | None:
    return None if moment is None else timezone.localdate(moment)

"""What is on record of a patient that booking asks about."""

from dataclasses import fields
from datetime import date

from django.db.models import Max, Q
from django.utils import timezone

from clinic.policy.queries import current_policy
from planning.booking_advice import (
    TREATS,
    Advice,
    BookingPolicy,
    ConsentOnRecord,
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
    return booking_advice(kind, day, patient_facts(patient, kind), booking_policy())


def booking_policy() -> BookingPolicy:
    """The clinic's limits on booking, each under the name that its policy has for it."""
    names = [field.name for field in fields(BookingPolicy)]
    policy = current_policy(only=names)
    return BookingPolicy(**{name: getattr(policy, name) for name in names})


def patient_facts(patient: Patient, kind: str) -> PatientFacts:
    """
    Three queries, six for a kind that treats. Sessions, consents, reviews and adverse events are
    reached by their reverse names: this capability knows nothing of those that stand on it.
    """
    reviews = patient.reviews.still_open().values_list("kind", "earliest_on", "due_on", "latest_on")
    notes = patient.alerts.current().noted().filter(kind=AlertKind.ACCOUNT)
    return PatientFacts(
        birth_date=patient.birth_date,
        reviews=[OpenReview(kind == "top_up", *days) for kind, *days in reviews],
        has_open_event=patient.adverse_events.still_open().exists(),
        account_notes=list(notes.values_list("text", flat=True)),
        consents=_consents(patient) if kind in TREATS else None,
        **(_earlier_visits(patient) if kind in TREATS else {}),
    )


def _consents(patient: Patient) -> list[ConsentOnRecord]:
    in_force = patient.consents.for_treatment().in_force()
    days = in_force.values_list("discussed_at", "valid_until")
    return [ConsentOnRecord(timezone.localdate(talk), until) for talk, until in days]


def _earlier_visits(patient: Patient) -> dict[str, date | None]:
    """The days of the last treatment, of the last with toxin, and of the first consultation."""
    sessions = patient.sessions.signed()
    last = sessions.aggregate(treated=Max("started_at"), toxin=Max("started_at", filter=_TOXIN))
    consulted = (
        patient.appointments.filter(kind="consultation", state=AppointmentState.DONE)
        .order_by("starts_at")
        .values_list("starts_at", flat=True)
        .first()
    )
    days = {"treated_on": last["treated"], "toxin_on": last["toxin"], "consulted_on": consulted}
    return {name: _day(moment) for name, moment in days.items()}


def _day(moment) -> date | None:
    return None if moment is None else timezone.localdate(moment)

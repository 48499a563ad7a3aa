"""What the rules ask beside the trail: who is at work, who is whom, who had a reason."""

from collections.abc import Collection, Iterable, Iterator
from datetime import date, timedelta

from django.db.models import Q
from django.utils import timezone

from clinic.database.moments import moment_at
from clinic.hours.queries import read_hours
from clinic.policy.models import ClinicPolicy
from clinic.staff.models import User
from planning.names import fold, words
from planning.unusual_access import Access, Known, PatientFacts, PersonFacts, WorkDay
from records.adverse_events.models import AdverseEvent
from records.appointments.models import Appointment
from records.patients.models import Patient, PatientWord
from records.plans.models import Plan
from records.recalls.models import CasePatient
from records.record_access.models import StaffPatient
from records.reminders.models import Message
from records.reviews.models import Review
from records.sessions.models import TreatmentSession
from records.waiting_list.models import WaitingEntry


def work_of(
    person_ids: Collection[int], day: date, policy: ClinicPolicy
) -> dict[int, WorkDay | None]:
    """
    From the first to the last hour of a day, breaks included, and widened by the person's own
    visits of that day; None for who was not at work. The same queries for any number of people.

    Whoever has no hours of their own is at work as the policy says, if the clinic opens.
    """
    people = list(User.objects.filter(pk__in=person_ids))
    hours = read_hours(people, day, day)
    visits = _visits_on(day, person_ids)
    usual = WorkDay(
        timezone.localtime(moment_at(day, policy.access_from)),
        timezone.localtime(moment_at(day, policy.access_until)),
    )
    work: dict[int, WorkDay | None] = {}
    for person in people:
        parts = [part for part in hours.day(person.pk, day) if part.is_working]
        spans = [
            WorkDay(timezone.localtime(part.start), timezone.localtime(part.end)) for part in parts
        ]
        if spans and person.pk not in hours.times:
            spans = [usual]
        spans += visits.get(person.pk, [])
        work[person.pk] = (
            WorkDay(min(span.starts for span in spans), max(span.ends for span in spans))
            if spans
            else None
        )
    return work


def _visits_on(day: date, person_ids: Collection[int]) -> dict[int, list[WorkDay]]:
    visits: dict[int, list[WorkDay]] = {}
    taking_place = Appointment.objects.taking_place().on(day)
    for one in taking_place.filter(practitioner__in=person_ids):
        span = WorkDay(timezone.localtime(one.starts_at), timezone.localtime(one.ends_at))
        visits.setdefault(one.practitioner_id, []).append(span)
    return visits


def known_of(accesses: Iterable[Access], days: int) -> Known:
    """Names, addresses and links of the people and patients in it, and who treats whom."""
    accesses = list(accesses)
    person_ids = {one.person for one in accesses}
    patient_ids = {one.patient for one in accesses}
    staff = dict(StaffPatient.objects.the_same().values_list("patient_id", "person_id"))
    own = {person: patient for patient, person in staff.items()}
    patients = Patient.objects.in_bulk(
        [*patient_ids, *(own[person] for person in person_ids if person in own)]
    )
    namesakes: dict[int, set[int]] = {}
    for person_id, patient_id in namesakes_unsaid(patient_ids):
        namesakes.setdefault(patient_id, set()).add(person_id)
    return Known(
        people={
            person.pk: PersonFacts(
                person.full_name,
                patients[own[person.pk]].address if own.get(person.pk) in patients else "",
            )
            for person in User.objects.filter(pk__in=person_ids)
        },
        patients={
            pk: PatientFacts(
                patients[pk].full_name,
                patients[pk].address,
                staff.get(pk),
                frozenset(namesakes.get(pk, ())),
            )
            for pk in patient_ids
            if pk in patients
        },
        involved=_involved(person_ids, patient_ids, accesses, days),
    )


def _involved(
    people: set[int], patients: set[int], accesses: list[Access], days: int
) -> frozenset[tuple[int, int]]:
    """Who sees or treats the patient near; who checks in a patient of that day."""
    if not accesses:
        return frozenset()
    first = min(one.at for one in accesses) - timedelta(days=days)
    last = max(one.at for one in accesses) + timedelta(days=days)
    near = Appointment.objects.filter(
        patient__in=patients, starts_at__gte=first, starts_at__lt=last
    ).values_list("practitioner_id", "patient_id", "starts_at")
    involved = {(practitioner, patient) for practitioner, patient, _ in near}
    desk = set(User.objects.filter(pk__in=people, is_front_desk=True).values_list("pk", flat=True))
    seen_on = {(patient, timezone.localdate(at)) for _, patient, at in near}
    involved |= {
        (one.person, one.patient)
        for one in accesses
        if one.person in desk and (one.patient, one.at.date()) in seen_on
    }
    sessions = TreatmentSession.objects.filter(
        patient__in=patients, injector__in=people, started_at__gte=first, started_at__lt=last
    )
    return frozenset(involved | set(sessions.values_list("injector_id", "patient_id")))


def namesakes_unsaid(patient_ids: Collection[int] | None = None) -> Iterator[tuple[int, int]]:
    """
    (person, patient) who bear the same name and of whom nobody said whether they are the same.

    Args:
        patient_ids: among these; None for all.
    """
    said = set(StaffPatient.objects.values_list("person_id", "patient_id"))
    settled = set(StaffPatient.objects.the_same().values_list("person_id", flat=True))
    names: dict[str, list[int]] = {}
    for person_id, name in User.objects.filter(is_active=True).values_list("pk", "full_name"):
        if person_id not in settled and fold(name):
            names.setdefault(fold(name), []).append(person_id)
    first_words = {found[0] for name in names if (found := words(name))}
    rows = PatientWord.objects.filter(word__in=first_words)
    if patient_ids is not None:
        rows = rows.filter(patient__in=patient_ids)
    pairs = rows.values_list("patient_id", "patient__full_name").distinct()
    for patient_id, name in pairs:
        for person_id in names.get(fold(name), ()):
            if (person_id, patient_id) not in said:
                yield person_id, patient_id


def with_reason_near(patient_ids: Collection[int], day: date, days: int) -> set[int]:
    """
    Those of the patients with a visit, session, review or task near a day, or who were registered
    then: a query for each kind.
    """
    first, last = day - timedelta(days=days), day + timedelta(days=days)
    start, end = moment_at(first), moment_at(last + timedelta(days=1))

    def when(field: str) -> Q:
        return Q(**{f"{field}__gte": start, f"{field}__lt": end})

    still_open = Q(closed_at__isnull=True)
    sources = [
        Appointment.objects.filter(when("starts_at")),
        TreatmentSession.objects.filter(when("started_at")),
        Review.objects.filter(still_open & Q(earliest_on__lte=last) | when("closed_at")),
        AdverseEvent.objects.filter(still_open | when("recorded_at") | when("closed_at")),
        WaitingEntry.objects.filter(still_open | when("added_at") | when("closed_at")),
        Plan.objects.filter(when("made_at") | when("closed_at")),
        CasePatient.objects.filter(case__closed_at__isnull=True),
        Message.objects.filter(when("due_at")),
    ]
    found: set[int] = set()
    for rows in sources:
        left = set(patient_ids) - found
        if not left:
            return found
        found |= set(rows.filter(patient__in=left).order_by().values_list("patient_id", flat=True))
    registered = Patient.objects.filter(when("created_at"), pk__in=patient_ids)
    return found | set(registered.values_list("pk", flat=True))

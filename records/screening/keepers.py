"""What a medical history has to say before the needle (records/gates/registry.py)."""

from collections.abc import Iterator
from datetime import date

from django.urls import reverse
from django.utils import timezone

from planning.review_dates import day_in_words
from records.gates.registry import Asked, Gate
from records.patients.enums import AlertLevel
from records.patients.models import Patient
from records.screening.models import RaisedAlert
from records.screening.queries import Standing, current_raised, standings_of_patients

_POLICY = "Clinic policy"


def history_gates(asked: Asked) -> Iterator[tuple[Patient, Gate]]:
    """
    A stop for each answer that raised one; an advice where the history is missing, too old, or was
    read by no injector.
    """
    patients = [patient.pk for patient in asked.kinds]
    standings = standings_of_patients(patients, asked.policy.history_months)
    raised = current_raised(patients)
    for patient in asked.kinds:
        for row in raised[patient.pk]:
            if row.alert.level == AlertLevel.STOP:
                yield patient, _stop(row)
        on = timezone.localdate(asked.now)
        for gate in _about_the_form(patient, standings[patient.pk], on):
            yield patient, gate


def _stop(raised: RaisedAlert) -> Gate:
    return Gate(
        key=f"screening-{raised.answer.question.code}",
        level=AlertLevel.STOP,
        title=raised.alert.text,
        text="The patient’s medical history says so. Talk it over; whoever goes on writes down "
        "why.",
        source=raised.source,
        url=reverse("screening-detail", kwargs={"pk": raised.answer.form_id}),
    )


def _about_the_form(patient: Patient, standing: Standing, on: date) -> Iterator[Gate]:
    if standing.form is None:
        yield Gate(
            key="screening-missing",
            level=AlertLevel.CAUTION,
            title="No medical history",
            text="It was never asked here. Hand over the tablet, or read the questions out.",
            source=_POLICY,
            url=reverse("patient-detail", kwargs={"pk": patient.pk}),
        )
        return
    url = reverse("screening-detail", kwargs={"pk": standing.form.pk})
    if standing.good_until and standing.is_old(on):
        yield Gate(
            key="screening-old",
            level=AlertLevel.CAUTION,
            title="The medical history is too old",
            text=f"It was to be gone by until {day_in_words(standing.good_until)}. Ask whether "
            "anything has changed.",
            source=_POLICY,
            url=url,
        )
    if standing.read is None:
        yield Gate(
            key="screening-unread",
            level=AlertLevel.CAUTION,
            title="Nobody has read the medical history",
            text="Read the answers, and note that you did.",
            source=_POLICY,
            url=url,
        )

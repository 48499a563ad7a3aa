"""What consent has to say before the needle (records/gates/registry.py)."""

from collections.abc import Iterator

from django.urls import reverse
from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from planning.consents import ConsentKind, ConsentState, CoolingOff, kinds_for
from planning.review_dates import day_in_words
from planning.sources import TIME_TO_THINK
from planning.vocabulary import ProductKind
from records.consents.queries import Standing, standings_of_patients
from records.gates.registry import Asked, Gate
from records.patients.enums import AlertLevel
from records.patients.models import Patient

CHECK_LAW = "Check your local law."
_FIRST = [kind for kind in ConsentKind if kind.has_cooling_off]
_WANTED = {
    ConsentState.NONE: "No consent is on record.",
    ConsentState.RAN_OUT: "The consent held until {day}.",
    ConsentState.TEXT_CHANGED: "The text has changed since the patient agreed to it.",
    ConsentState.WITHDRAWN: "The patient withdrew the consent on {day}.",
    ConsentState.REFUSED: "The patient refused on {day}.",
    ConsentState.DECLINED: "The clinic declined this treatment on {day}.",
}
_SAID_NO = (ConsentState.WITHDRAWN, ConsentState.REFUSED, ConsentState.DECLINED)


def consent_gates(asked: Asked) -> Iterator[tuple[Patient, Gate]]:
    """
    A stop for each kind of consent that is not in force at that moment. While nobody knows what is
    given, one consent to a treatment is enough.
    """
    patients, days = [patient.pk for patient in asked.kinds], asked.policy.cooling_off_days
    found = standings_of_patients(patients, asked.now, days)
    for patient, kinds in asked.kinds.items():
        for standing in _wanted(found[patient.pk], kinds):
            if standing.state is ConsentState.COOLING_OFF and standing.wait:
                yield patient, _cooling_off(patient, standing.kind, standing.wait, asked.policy)
            elif not standing.is_valid:
                yield patient, _missing(patient, standing, is_known=bool(kinds))


def _wanted(found: dict[ConsentKind, Standing], kinds: frozenset[ProductKind]) -> list[Standing]:
    if kinds:
        return [found[kind] for kind in kinds_for(kinds)]
    return _nearest([found[kind] for kind in _FIRST])


def _nearest(treatments: list[Standing]) -> list[Standing]:
    """Of several that might be given: nothing if one may begin, else the one nearest to it."""
    if any(standing.is_valid for standing in treatments):
        return []
    waiting = [each for each in treatments if each.state is ConsentState.COOLING_OFF]
    answered = [each for each in treatments if each.consent]
    return (waiting or answered or treatments)[:1]


def _missing(patient: Patient, standing: Standing, *, is_known: bool) -> Gate:
    kind = standing.kind
    # In an emergency hyaluronidase is given first, whatever is on record.
    is_urgent = kind is ConsentKind.HYALURONIDASE
    now_what = "Ask anew and take the consent before you treat."
    if is_urgent:
        now_what += " In an emergency treat first, and write down why."
    return Gate(
        f"consent-{kind}",
        AlertLevel.STOP,
        f"No consent in force: {kind.label}" if is_known else "No consent to a treatment yet",
        f"{_what_is_wrong(standing)} {now_what}",
        f"Clinic policy: consent before each treatment. {CHECK_LAW}",
        reverse("consent-take", args=[patient.pk, kind.value]),
        can_be_decided=is_urgent or standing.state not in _SAID_NO,
    )


def _cooling_off(
    patient: Patient, kind: ConsentKind, wait: CoolingOff, policy: ClinicPolicy
) -> Gate:
    return Gate(
        f"cooling-off-{kind}",
        AlertLevel.STOP,
        f"In cooling-off: {kind.label}, not before {wait.ends_at:%H:%M} on "
        f"{day_in_words(wait.ends_at.date())}",
        f"The patient has time to think from the consultation on. Book a later time. {CHECK_LAW}",
        f"Clinic policy: cooling-off of {policy.cooling_off_days} days. {TIME_TO_THINK}",
        reverse("patient-detail", args=[patient.pk]),
        can_be_decided=policy.cooling_off_may_be_waived,
    )


def _what_is_wrong(standing: Standing) -> str:
    """The sentence of its state, with the day that belongs to it."""
    words, consent = _WANTED[standing.state], standing.consent
    if consent is None:
        return words
    day = timezone.localdate(consent.withdrawn_at or consent.given_at)
    if standing.state is ConsentState.RAN_OUT and consent.valid_until:
        day = consent.valid_until
    return words.format(day=day_in_words(day))

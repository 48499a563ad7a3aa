"""
What consent says before the needle.

The boundary of the cooling-off time (1 June 10:00 and 7 days: 8 June 10:00) is reckoned by hand.
"""

from datetime import date, datetime

import pytest
import time_machine
from django.utils import timezone
from django.utils.timezone import get_current_timezone

from clinic.policy.models import ClinicPolicy
from planning.consents import ConsentKind, Outcome
from planning.vocabulary import ProductKind
from records.appointments.queries.advice import patient_facts
from records.consents.keepers import consent_gates
from records.consents.services import Talk, note_not_given, withdraw_consent
from records.patients.enums import AlertLevel
from records.sessions.enums import Remainder
from records.sessions.services.signing import sign_session
from tests.factories import (
    make_consent,
    make_patient,
    make_point,
    make_product,
    make_session_with_unit,
    make_units,
)
from tests.records.gates.fakes import said_of

pytestmark = pytest.mark.django_db

FILLER = frozenset({ProductKind.HA_FILLER})


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=get_current_timezone())


def said(patient, kinds=FILLER, now=None):
    return {gate.key: gate for gate in said_of(consent_gates, patient, *kinds, now=now)}


def consulted_on_1_june(injector, patient, **policy):
    ClinicPolicy.objects.create(cooling_off_days=7, **policy)
    with time_machine.travel(at("2026-06-01 10:30"), tick=False):
        return make_consent(injector, patient, discussed_at=at("2026-06-01 10:00"))


def test_a_treatment_without_consent_is_stopped_and_can_be_decided(patient):
    (gate,) = said(patient).values()
    assert (gate.key, gate.level, gate.can_be_decided) == (
        "consent-filler", AlertLevel.STOP, True,
    )  # fmt: skip
    assert gate.url == f"/consents/for-patient/{patient.pk}/filler/"
    assert "local law" in gate.source


def test_a_consent_opens_the_gate_for_its_kind_alone(injector, patient):
    make_consent(injector, patient)
    assert said(patient) == {}
    assert [*said(patient, {ProductKind.OTHER_FILLER, ProductKind.TOXIN})] == ["consent-toxin"]
    assert said(patient, {ProductKind.ANAESTHETIC}) == {}


@pytest.mark.parametrize(
    ("now", "keys"),
    [
        ("2026-06-08 09:59", ["cooling-off-filler"]),
        ("2026-06-08 10:00", []),
    ],
)
def test_the_cooling_off_time_ends_at_the_hour_of_the_consultation(injector, patient, now, keys):
    consulted_on_1_june(injector, patient)
    assert [*said(patient, now=at(now))] == keys


def test_the_cooling_off_time_is_waived_only_where_the_policy_says_so(injector, patient):
    consulted_on_1_june(injector, patient)
    gate = said(patient, now=at("2026-06-02 09:00"))["cooling-off-filler"]
    assert gate.can_be_decided is False
    assert "not before 10:00 on Monday 8 June 2026" in gate.title
    ClinicPolicy.objects.update(cooling_off_may_be_waived=True)
    assert said(patient, now=at("2026-06-02 09:00"))["cooling-off-filler"].can_be_decided


def test_nobody_waits_who_was_treated_with_the_same_before(injector, owner, patient):
    unit = make_units(owner, make_product())[0]
    session = make_session_with_unit(injector, patient, unit)
    make_point(session, unit)
    sign_session(session=session, remainders={unit.pk: Remainder.WASTED}, actor=injector)
    ClinicPolicy.objects.create(cooling_off_days=7)
    consent = make_consent(injector, patient)
    assert consent.not_before is None
    assert said(patient) == {}


def test_what_is_asked_of_a_day_that_has_passed_is_what_held_then(injector, patient):
    consulted_on_1_june(injector, patient)
    assert [*said(patient, now=at("2026-05-31 10:00"))] == ["consent-filler"]
    assert said(patient, now=at("2027-06-01 23:59")) == {}
    assert [*said(patient, now=at("2027-06-02 00:00"))] == ["consent-filler"]


def test_who_said_no_is_not_treated_by_a_decision(injector, patient):
    consent = make_consent(injector, patient)
    withdraw_consent(consent=consent, reason="Changed her mind", actor=injector)
    assert said(patient)["consent-filler"].can_be_decided is False
    note_not_given(
        patient=patient, kind=ConsentKind.FILLER, outcome=Outcome.REFUSED, reason="Fear",
        talk=Talk(timezone.now()), actor=injector,
    )  # fmt: skip
    assert said(patient)["consent-filler"].can_be_decided is False


def test_hyaluronidase_can_always_be_given_in_an_emergency(injector):
    young = make_patient(injector, "Bo Li", birth_date=date(2010, 1, 1))
    (gate,) = said(young, {ProductKind.HYALURONIDASE}).values()
    assert (gate.key, gate.can_be_decided) == ("consent-hyaluronidase", True)
    assert "In an emergency treat first" in gate.text


def test_while_nobody_knows_what_is_given_one_consent_is_enough(injector, patient):
    assert [*said(patient, ())] == ["consent-toxin"]
    make_consent(injector, patient)
    assert said(patient, ()) == {}


def test_while_nobody_knows_what_is_given_the_cooling_off_time_still_counts(injector, patient):
    consulted_on_1_june(injector, patient)
    assert [*said(patient, (), at("2026-06-08 09:59"))] == ["cooling-off-filler"]
    assert said(patient, (), at("2026-06-08 10:00")) == {}


def test_booking_is_told_of_consents_to_treatments_that_are_in_force(injector, patient):
    make_consent(injector, patient, ConsentKind.TEACHING)
    assert patient_facts(patient, "treatment").consents == []
    assert patient_facts(patient, "review").consents is None
    consent = make_consent(injector, patient)
    (known,) = patient_facts(patient, "treatment").consents
    assert (known.discussed_on, known.valid_until) == (
        timezone.localdate(consent.discussed_at), consent.valid_until,
    )  # fmt: skip
    note_not_given(
        patient=patient, kind=ConsentKind.FILLER, outcome=Outcome.REFUSED, reason="Fear",
        talk=Talk(timezone.now()), actor=injector,
    )  # fmt: skip
    assert patient_facts(patient, "treatment").consents == []

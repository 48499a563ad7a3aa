"""Consents are taken, refused and withdrawn; their papers and texts are kept as they were."""

import hashlib
from dataclasses import replace
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.policy.models import ClinicPolicy
from planning.consents import ConsentKind, ConsentState, Outcome
from records.consents.errors import AlreadyWithdrawn, NotComplete, ReasonMissing, TextChanged
from records.consents.models import Consent, ConsentPaper, ConsentRisk, ConsentText, ConsentTick
from records.consents.papers import give_out_paper, keep_paper
from records.consents.queries import consents_with_text, standings, text_in_force
from records.consents.services import (
    Signing,
    Talk,
    note_not_given,
    save_text,
    take_consent,
    withdraw_consent,
)
from records.consents.supplied import SUPPLIED, Risk, Wording
from tests.factories import SIGNATURE, make_consent, make_patient, refreshed
from tests.pdf import pdf_text

OWN = Wording("Our filler text", "Our words.", 30, (Risk("It may bruise.", ""),))
TALK = Talk(timezone.now(), told_alternatives=True, told_costs=True, has_capacity=True)
SIGNED = Signing("Ann Example", SIGNATURE)


def state(patient, kind=ConsentKind.FILLER, at=None) -> ConsentState:
    return standings(patient, at or timezone.now())[kind].state


def decline(injector, patient, **fields) -> Consent:
    fields = {"kind": ConsentKind.FILLER, "outcome": Outcome.REFUSED, "reason": "Fear", **fields}
    return note_not_given(patient=patient, talk=Talk(timezone.now()), actor=injector, **fields)


def test_a_consent_holds_for_as_many_days_as_its_text_says(injector, patient):
    consent = make_consent(injector, patient)
    assert consent.valid_until == timezone.localdate() + timedelta(days=365)
    assert state(patient) is ConsentState.VALID
    last = timezone.now() + timedelta(days=366)
    assert state(patient, at=last) is ConsentState.RAN_OUT
    assert state(patient, ConsentKind.TOXIN) is ConsentState.NONE
    event = AuditEvent.objects.get(action="consent.given")
    assert (event.patient_id, SIGNATURE in event.data) == (patient.pk, False)


def test_every_statement_of_the_text_is_ticked(injector, patient):
    consent = make_consent(injector, patient)
    words = [tick.risk.words for tick in consent.ticks.select_related("risk")]
    assert words == [risk.words for risk in SUPPLIED[ConsentKind.FILLER].risks]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"ticked": [1, 2]}, "ticked by the patient"),
        ({"talk": replace(TALK, has_capacity=False)}, "capacity"),
        ({"talk": replace(TALK, told_costs=False)}, "costs"),
        ({"signing": Signing("Ann Example")}, "signs"),
        ({"signing": Signing("Ann Example", unsigned_reason="Broken arm")}, "witness"),
        ({"talk": replace(TALK, discussed_at=timezone.now() + timedelta(days=1))}, "to come"),
    ],
)
def test_nothing_less_is_a_consent(injector, patient, change, said):
    act = {
        "patient": patient, "kind": ConsentKind.FILLER, "version": 1, "ticked": range(1, 8),
        "talk": TALK, "signing": SIGNED, "actor": injector,
    }  # fmt: skip
    with pytest.raises(NotComplete, match=said):
        take_consent(**act | change)
    assert not Consent.objects.exists()


def test_who_cannot_sign_consents_before_a_witness(injector, patient):
    signing = Signing("Ann Example", unsigned_reason="Broken arm", witness_name="Wilma Witness")
    consent = take_consent(
        patient=patient, kind=ConsentKind.PHOTOGRAPHS, version=1, ticked=[1, 2], talk=TALK,
        signing=signing, actor=injector,
    )  # fmt: skip
    assert (consent.signature, consent.witness_name) == ("", "Wilma Witness")


def test_a_changed_text_is_asked_anew_and_the_old_one_stays(injector, owner, patient):
    consent = make_consent(injector, patient)
    save_text(kind=ConsentKind.FILLER, seen=1, wording=OWN, actor=owner)
    assert state(patient) is ConsentState.TEXT_CHANGED
    assert refreshed(consent).text.title == SUPPLIED[ConsentKind.FILLER].title
    again = make_consent(injector, patient)
    assert (again.text.version, again.valid_until) == (
        2, timezone.localdate() + timedelta(days=30),
    )  # fmt: skip
    assert state(patient) is ConsentState.VALID


def test_nobody_consents_to_a_text_that_changed_while_it_was_read(injector, owner, patient):
    save_text(kind=ConsentKind.FILLER, seen=1, wording=OWN, actor=owner)
    with pytest.raises(TextChanged, match="version 2 is in force"):
        take_consent(
            patient=patient, kind=ConsentKind.FILLER, version=1, ticked=range(1, 8), talk=TALK,
            signing=SIGNED, actor=injector,
        )  # fmt: skip


def test_two_owners_do_not_write_over_each_others_text(owner):
    save_text(kind=ConsentKind.TOXIN, seen=1, wording=OWN, actor=owner)
    with pytest.raises(TextChanged):
        save_text(kind=ConsentKind.TOXIN, seen=1, wording=OWN, actor=owner)
    with pytest.raises(NotComplete, match="at least one statement"):
        save_text(kind=ConsentKind.TOXIN, seen=2, wording=OWN._replace(risks=()), actor=owner)
    assert text_in_force(ConsentKind.TOXIN).version == 2


def test_the_supplied_text_is_version_one_before_and_after_its_first_use(injector, patient):
    before = text_in_force(ConsentKind.FILLER)
    make_consent(injector, patient)
    assert text_in_force(ConsentKind.FILLER) == before
    assert (before.version, before.is_supplied) == (1, True)


def test_a_refusal_and_a_declined_treatment_are_records(injector, patient):
    make_consent(injector, patient)
    decline(injector, patient)
    assert state(patient) is ConsentState.REFUSED
    decline(injector, patient, outcome=Outcome.DECLINED, reason="Expects too much")
    assert state(patient) is ConsentState.DECLINED
    with pytest.raises(ReasonMissing):
        decline(injector, patient, reason=" ")


def test_a_withdrawal_counts_from_its_moment_on(injector, patient):
    consent = make_consent(injector, patient)
    before = timezone.now()
    with pytest.raises(ReasonMissing):
        withdraw_consent(consent=consent, reason="", actor=injector)
    withdraw_consent(consent=consent, reason="Changed her mind", actor=injector)
    assert state(patient) is ConsentState.WITHDRAWN
    assert state(patient, at=before) is ConsentState.VALID
    with pytest.raises(AlreadyWithdrawn):
        withdraw_consent(consent=consent, reason="Twice", actor=injector)


def test_a_refusal_has_nothing_to_withdraw(injector, patient):
    with pytest.raises(AlreadyWithdrawn):
        withdraw_consent(consent=decline(injector, patient), reason="No", actor=injector)


def test_the_cooling_off_time_is_kept_in_both_readings(injector, patient):
    ClinicPolicy.objects.create(cooling_off_days=7)
    talked = timezone.now() - timedelta(days=1)
    consent = make_consent(injector, patient, discussed_at=talked)
    assert consent.not_before == talked + timedelta(days=7)
    assert consent.not_before_day == timezone.localdate(talked) + timedelta(days=7)
    assert state(patient) is ConsentState.COOLING_OFF
    assert make_consent(injector, patient, ConsentKind.HYALURONIDASE).not_before is None


def test_a_longer_time_to_think_set_later_counts_for_who_was_not_treated_yet(injector, patient):
    consent = make_consent(injector, patient, discussed_at=timezone.now() - timedelta(days=3))
    assert state(patient) is ConsentState.VALID
    ClinicPolicy.objects.create(cooling_off_days=7)
    standing = standings(patient, timezone.now())[ConsentKind.FILLER]
    assert standing.state is ConsentState.COOLING_OFF
    assert standing.wait.full_at == consent.discussed_at + timedelta(days=7)


def test_the_paper_is_kept_once_with_its_digest_in_the_trail(injector, patient):
    consent = make_consent(injector, patient, questions="Will it hurt? A little.")
    read = consents_with_text().get(pk=consent.pk)
    pdf = give_out_paper(consent=read, actor=injector)
    assert give_out_paper(consent=read, actor=injector) == pdf
    event = AuditEvent.objects.get(action="consent.paper_made")
    assert hashlib.sha256(pdf).hexdigest() in event.data
    assert AuditEvent.objects.filter(action="consent.printed").count() == 2
    text = pdf_text(pdf)
    for words in ("Ann Example", "Will it hurt? A little.", "1 of 6,410", "Alam et al."):
        assert words in text


def test_a_withdrawn_consent_is_given_out_with_its_withdrawal(injector, patient):
    consent = make_consent(injector, patient, ConsentKind.TEACHING)
    first = keep_paper(consent=consents_with_text().get(pk=consent.pk), actor=injector)
    withdraw_consent(consent=consent, reason="Changed her mind", actor=injector)
    read = consents_with_text().get(pk=consent.pk)
    assert "Changed her mind" in pdf_text(give_out_paper(consent=read, actor=injector))
    assert ConsentPaper.objects.get(shows_withdrawal=False) == first


@pytest.mark.parametrize(
    "fields",
    [
        {"outcome": "perhaps"},
        {"has_capacity": False},
        {"has_capacity": None},
        {"told_costs": False},
        {"valid_until": None},
        {"signature": ""},
        {"signature": "", "unsigned_reason": "Broken arm"},
        {"signed_name": ""},
        {"outcome": "refused"},
        {"outcome": "refused", "reason": "Fear"},
        {"not_before": timezone.now()},
        {"discussed_at": timezone.now() + timedelta(days=2)},
        {"witness_signature": SIGNATURE},
        {"withdrawn_at": timezone.now()},
    ],
)
def test_the_database_refuses_what_is_no_consent(injector, patient, fields):
    given = make_consent(injector, make_patient(injector, "Bo Li"))
    now = timezone.now()
    whole = {
        "patient": patient, "text": given.text, "outcome": "given", "discussed_at": now,
        "told_alternatives": True, "told_costs": True, "has_capacity": True,
        "signed_name": "Ann Example", "signature": SIGNATURE, "taken_by": injector,
        "given_at": now + timedelta(days=1), "valid_until": timezone.localdate(),
    }  # fmt: skip
    with pytest.raises(IntegrityError), transaction.atomic():
        Consent.objects.create(**whole | fields)


@pytest.mark.parametrize(
    "change",
    [
        {"questions": "None"}, {"signature": "[]"}, {"has_capacity": None},
        {"valid_until": None}, {"signed_name": "Somebody"}, {"given_at": timezone.now()},
    ],
)  # fmt: skip
def test_a_consent_stays_as_it_was_given(injector, patient, change):
    consent = make_consent(injector, patient)
    with pytest.raises(IntegrityError, match="as it was given"), transaction.atomic():
        Consent.objects.filter(pk=consent.pk).update(**change)
    with pytest.raises(IntegrityError, match="stays in the record"), transaction.atomic():
        Consent.objects.filter(pk=consent.pk)._raw_delete("default")


def test_a_withdrawn_consent_does_not_come_back(injector, patient):
    consent = make_consent(injector, patient)
    withdraw_consent(consent=consent, reason="Changed her mind", actor=injector)
    with pytest.raises(IntegrityError, match="was withdrawn"), transaction.atomic():
        Consent.objects.filter(pk=consent.pk).update(
            withdrawn_at=None, withdrawn_by=None, withdrawal_reason=""
        )


def test_texts_statements_ticks_and_papers_are_only_added(injector, patient):
    consent = make_consent(injector, patient, ConsentKind.TEACHING)
    keep_paper(consent=consents_with_text().get(pk=consent.pk), actor=injector)
    for rows, change in (
        (ConsentText.objects.all(), {"body": "Other"}),
        (ConsentRisk.objects.all(), {"words": "Other"}),
        (ConsentTick.objects.all(), {"risk": consent.text.risks.last()}),
        (ConsentPaper.objects.all(), {"digest": "0" * 64}),
    ):
        with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
            rows.update(**change)
        with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
            rows._raw_delete("default")


def test_a_tick_belongs_to_the_text_that_was_answered(injector, patient):
    other = make_consent(injector, patient, ConsentKind.TEACHING)
    consent = make_consent(injector, patient)
    with pytest.raises(IntegrityError, match="belongs to the text"), transaction.atomic():
        ConsentTick.objects.create(consent=consent, risk=other.text.risks.first())


@pytest.mark.parametrize(
    "fields", [{"kind": "rain"}, {"version": 0}, {"valid_days": 0}, {"valid_days": 3651}, {}]
)
def test_the_database_refuses_a_text_that_cannot_be(injector, patient, fields):
    make_consent(injector, patient)
    text = {
        "kind": "filler", "version": 2, "title": "T", "body": "B", "valid_days": 30,
        "written_at": timezone.now(), **(fields or {"version": 1}),
    }  # fmt: skip
    with pytest.raises(IntegrityError), transaction.atomic():
        ConsentText.objects.create(**text)

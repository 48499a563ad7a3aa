"""The file that the patient's page hands out."""

import json

import pytest
from django.urls import reverse

from clinic.audit.models import AuditEvent
from tests.factories import make_patient


@pytest.fixture
def patient(desk):
    return make_patient(desk, "Ann Example")


def url(pk: int) -> str:
    return reverse("interchange-record", args=[pk])


@pytest.mark.parametrize("person", ["injector", "owner"])
def test_the_record_is_downloaded_and_the_trail_says_by_whom(person, request, signed_in, patient):
    user = request.getfixturevalue(person)
    answer = signed_in(user).get(url(patient.pk))
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/fhir+json; charset=utf-8"
    assert answer["Content-Disposition"] == (
        f'attachment; filename="record-{patient.record_number}.json"'
    )
    assert answer["Cache-Control"] == "no-store"
    bundle = json.loads(answer.content)
    assert bundle["entry"][0]["resource"]["name"] == [{"use": "official", "text": "Ann Example"}]
    event = AuditEvent.objects.first()
    assert (event.action, event.actor, event.patient_id) == (
        "patient.record_exported", user, patient.pk,
    )  # fmt: skip


def test_the_front_desk_reads_no_clinical_detail_here_either(signed_in, desk, patient):
    before = AuditEvent.objects.count()
    assert signed_in(desk).get(url(patient.pk)).status_code == 403
    assert AuditEvent.objects.count() == before


def test_a_stranger_is_asked_to_sign_in(client, patient):
    answer = client.get(url(patient.pk))
    assert answer.status_code == 302
    assert answer.url.startswith(reverse("staff-login"))


def test_a_patient_who_is_not_there_is_not_found(signed_in, owner):
    assert signed_in(owner).get(url(987654)).status_code == 404


def test_nothing_is_sent_to_it(signed_in, owner, patient):
    assert signed_in(owner).post(url(patient.pk)).status_code == 405


def test_the_patients_page_offers_it_to_those_who_may(signed_in, owner, desk, patient):
    page = reverse("patient-detail", args=[patient.pk])
    assert url(patient.pk) in signed_in(owner).get(page).content.decode()
    assert url(patient.pk) not in signed_in(desk).get(page).content.decode()

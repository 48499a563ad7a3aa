"""The start of a session where something has to be settled first."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from records.gates.models import GateDecision
from records.patients.enums import AlertLevel
from records.sessions.models import TreatmentSession
from tests.factories import make_emergency_item, make_patient
from tests.records.gates.fakes import stop

pytestmark = pytest.mark.django_db
NOW = {"when": "now", "jaw": "average"}


@pytest.fixture
def client(signed_in, injector):
    return signed_in(injector)


@pytest.fixture
def url(patient):
    return reverse("session-start", args=[patient.pk])


def earlier(**fields) -> dict:
    moment = timezone.localtime() - timedelta(days=2)
    return {
        "when": "earlier", "started_at": f"{moment:%Y-%m-%dT%H:%M}", "jaw": "average",
        "late_reason": "The tablet was lost", **fields,
    }  # fmt: skip


@pytest.mark.usefixtures("patient_agrees")
def test_without_a_stop_no_reason_is_asked_for(client, url):
    assert "Why you go on" not in client.get(url).content.decode()
    assert client.post(url, NOW).status_code == 302
    assert not GateDecision.objects.exists()


def test_a_stop_shuts_the_start_until_a_reason_is_written(client, url, keep):
    keep(stop(), stop("advice", level=AlertLevel.NOTE, title="Ask about dental work."))
    page = client.get(url).content.decode()
    for words in ("Consent is missing.", "Ask about dental work.", "Why you go on"):
        assert words in page
    refused = client.post(url, NOW)
    assert refused.status_code == 422
    assert "write down why you go on" in refused.content.decode()
    assert not TreatmentSession.objects.exists()
    assert client.post(url, NOW | {"reason": "Signed on paper"}).status_code == 302
    assert GateDecision.objects.get().reason == "Signed on paper"


def test_nobody_decides_past_the_age(client, injector):
    born = timezone.localdate() - timedelta(days=17 * 365)
    url = reverse("session-start", args=[make_patient(injector, "Too Young", birth_date=born).pk])
    answer = client.post(url, NOW | {"reason": "The father agrees"})
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "Nobody can decide to go on." in page
    assert "The father agrees" in page
    assert not TreatmentSession.objects.exists()
    # It has been done: the record holds it, flagged.
    answer = client.post(url, earlier(reason="Another date of birth was shown"))
    assert answer.status_code == 302
    assert set(GateDecision.objects.values_list("gate", "how")) == {
        ("minimum-age", "afterwards"), ("consent-toxin", "afterwards"),
    }  # fmt: skip


def test_what_is_written_down_later_is_asked_why(client, url, keep):
    keep(stop())
    answer = client.post(url, earlier())
    assert answer.status_code == 422
    assert "Write down why it was done all the same." in answer.content.decode()
    assert client.post(url, earlier(reason="Consent is on paper")).status_code == 302


def test_the_kit_is_told_before_the_start(client, url):
    make_emergency_item()
    page = client.get(url).content.decode()
    assert "look before you start" in page
    assert "short of" in page

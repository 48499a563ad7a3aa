"""Asking for a whole record, waiting for it, opening it."""

import pytest
from django.urls import reverse

from clinic.audit.models import AuditEvent
from records.whole_record import services
from records.whole_record.models import WholeRecord
from records.whole_record.services import make_waiting


@pytest.fixture(autouse=True)
def quick_printer(monkeypatch):
    monkeypatch.setattr(services, "render", lambda content: b"%PDF-1.7 whole")


def test_it_is_asked_for_with_a_reason_and_opened_when_it_is_made(signed_in, injector, patient):
    browser = signed_in(injector)
    answer = browser.post(
        reverse("whole-record-ask", args=[patient.pk]),
        {"purpose": "clinician", "recipient": "Dr Zoë Nowak", "note": "Letter of 1 December"},
        follow=True,
    )
    page = answer.content.decode()
    assert "Being made" in page
    assert "every 3s" in page
    assert "Nobody works in the background" in page  # no worker was ever seen here
    record = WholeRecord.objects.get()
    assert (record.asked_by, record.patient) == (injector, patient)
    make_waiting()
    state = browser.get(reverse("whole-record-state", args=[record.pk])).content.decode()
    assert "Open the PDF" in state
    assert "every 3s" not in state
    answer = browser.get(reverse("whole-record-pdf", args=[record.pk]))
    assert answer.content == b"%PDF-1.7 whole"
    assert answer["Content-Disposition"] == f'inline; filename="whole-record-{record.pk}.pdf"'
    panel = browser.get(reverse("whole-record-for-patient", args=[patient.pk])).content.decode()
    assert "Dr Zoë Nowak" in panel


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"purpose": "patient", "recipient": " ", "note": "seen passport"}, "Handed to is req"),
        ({"recipient": "Ann", "note": "seen passport"}, "Why it is handed out is required"),
        ({"purpose": "for fun", "recipient": "Ann", "note": "seen passport"}, "Select a valid"),
    ],
)  # fmt: skip
def test_what_is_missing_is_named_and_nothing_typed_is_lost(signed_in, owner, patient, sent, said):
    page = signed_in(owner).post(reverse("whole-record-ask", args=[patient.pk]), sent)
    text = page.content.decode()
    assert said in text
    assert "seen passport" in text
    assert not WholeRecord.objects.exists()


def test_one_that_is_not_made_leads_back_to_its_page(signed_in, owner, asked):
    answer = signed_in(owner).get(reverse("whole-record-pdf", args=[asked.pk]), follow=True)
    assert "The record is still being made." in answer.content.decode()


def test_one_that_could_not_be_made_says_what_to_do(signed_in, owner, asked):
    WholeRecord.objects.update(tries=3)
    page = signed_in(owner).get(reverse("whole-record-detail", args=[asked.pk])).content.decode()
    assert "could not be made" in page
    assert "every 3s" not in page


@pytest.mark.parametrize("name", ["ask", "for-patient"])
def test_the_front_desk_hands_nothing_out(signed_in, desk, patient, name):
    before = AuditEvent.objects.count()
    address = reverse(f"whole-record-{name}", args=[patient.pk])
    assert signed_in(desk).get(address).status_code == 403
    assert AuditEvent.objects.count() == before

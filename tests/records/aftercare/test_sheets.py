"""Sheets: what they say, how they are given, and that this stays on record."""

import hashlib
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from clinic.audit.models import AuditEvent
from planning.aftercare import EMERGENCY_LINES, SUPPLIED, AftercareKind
from records.aftercare.models import AftercareSheet
from records.aftercare.queries import content_of
from records.aftercare.services.sheets import print_sheet, send_sheet, sheet_html, show_sheet
from records.aftercare.services.texts import save_text
from records.reminders.models import Message
from records.reminders.tokens import token_of
from records.reminders.wording import worded
from tests.factories import make_session
from tests.pdf import pdf_text

GONE = "This link cannot be used"


@pytest.fixture
def anyone():
    return Client(enforce_csrf_checks=True)


def page_of(reference: str) -> str:
    return reverse("aftercare-page", kwargs={"token": token_of(reference)})


def test_a_sheet_is_printed_once_and_kept_with_time_person_and_digest(session, injector):
    sheet = print_sheet(session=session, actor=injector)
    pdf = bytes(sheet.pdf)
    assert pdf.startswith(b"%PDF")
    assert sheet.digest == hashlib.sha256(pdf).hexdigest()
    assert (sheet.way, sheet.given_by, sheet.session) == ("printed", injector, session)
    row = AuditEvent.objects.get(action="aftercare.given")
    assert sheet.digest in row.data
    said = pdf_text(pdf)
    for words in ("Call the emergency services now if", "Dr Ines Halvorsen, 07700 900999",
                  "HA filler 1 mL", session.points.get().unit.lot.number):  # fmt: skip
        assert words in said


def test_a_sheet_says_what_was_given_whom_to_call_and_whose_word_it_is(session, policy):
    html = sheet_html(session, content_of(session, policy))
    advice = SUPPLIED[AftercareKind.FILLER]
    for line in (*EMERGENCY_LINES, *advice.lines, *advice.signs, "Zygomatic region"):
        assert line in html
    for source in advice.sources:
        assert source.title in html


def test_a_given_sheet_keeps_the_words_it_was_given_with(session, injector, owner, anyone):
    sheet = show_sheet(session=session, actor=injector)
    save_text(
        kind=AftercareKind.FILLER, advice="Drink water", signs="fever", written_on=0, actor=owner
    )
    page = anyone.get(page_of(sheet.reference)).content.decode()
    assert SUPPLIED[AftercareKind.FILLER].lines[0] in page
    assert "Drink water" not in page
    later = show_sheet(session=session, actor=injector)
    page = anyone.get(page_of(later.reference)).content.decode()
    assert "Drink water" in page
    assert "Clinic policy: aftercare, version 1" in page


def test_the_patient_s_page_names_nobody_and_ends(session, injector, anyone, clock):
    sheet = show_sheet(session=session, actor=injector)
    answer = anyone.get(page_of(sheet.reference))
    page = answer.content.decode()
    assert 'href="tel:07700900999"' in page
    for words in ("Ann", "Example", "P000001", injector.full_name, "HA filler"):
        assert words not in page
    assert (answer["Cache-Control"], answer["X-Robots-Tag"]) == (
        "no-store", "noindex, nofollow, noarchive",
    )  # fmt: skip
    clock.shift(timedelta(days=30))
    ended = anyone.get(page_of(sheet.reference))
    assert (ended.status_code, GONE in ended.content.decode()) == (200, True)


def test_a_link_with_a_sign_too_many_leads_to_its_page(session, injector, anyone):
    address = page_of(show_sheet(session=session, actor=injector).reference)
    assert anyone.get(f"{address.rstrip('/')}./")["Location"] == address
    assert GONE in anyone.get("/aftercare/page/wrong").content.decode()


def test_a_sheet_goes_by_message_with_nothing_clinical_on_the_way(
    session, sending, injector, policy, anyone
):
    way = send_sheet(session=session, actor=injector)
    message = Message.objects.get()
    assert (way.route, message.kind, message.state) == ("sms", "aftercare", "waiting")
    for route in ("email", "sms"):
        message.route = route
        said = worded(message, policy)
        for clinical in ("filler", "toxin", "treat", "inject"):
            assert clinical not in f"{said.subject} {said.text}".lower()
    page = anyone.get(page_of(message.reference)).content.decode()
    assert SUPPLIED[AftercareKind.FILLER].lines[0] in page


@pytest.mark.parametrize(
    ("is_on", "agrees", "says"),
    [(False, True, "Messages are turned off"), (True, False, "Has not agreed")],
)
def test_where_none_can_be_sent_it_says_what_to_do_instead(
    session, sending, ann, injector, signed_in, is_on, agrees, says
):
    sending.is_on, ann.agrees_to_sms = is_on, agrees
    sending.save()
    ann.save()
    answer = signed_in(injector).post(reverse("aftercare-send", args=[session.pk]), follow=True)
    shown = answer.content.decode()
    assert says in shown
    assert "rint the sheet or show the code" in shown
    assert not AftercareSheet.objects.exists()


def test_without_anybody_to_call_no_sheet_is_given(session, policy, injector, signed_in):
    policy.emergency_contact = policy.phone = ""
    policy.save()
    answer = signed_in(injector).post(reverse("aftercare-print", args=[session.pk]), follow=True)
    assert "the owner enters an emergency contact or a telephone" in answer.content.decode()
    assert not AftercareSheet.objects.exists()


def test_after_a_session_in_which_nothing_was_given_there_is_none(ann, injector, signed_in):
    session = make_session(injector, ann)
    panel = signed_in(injector).get(reverse("aftercare-for-session", args=[session.pk]))
    assert "there is no sheet" in panel.content.decode()


def test_the_injector_shows_a_code_and_prints_again_what_was_printed(session, injector, signed_in):
    client = signed_in(injector)
    shown = client.post(reverse("aftercare-show", args=[session.pk]), follow=True)
    page = shown.content.decode()
    assert "<svg" in page.split("aftercare-code")[1]
    assert "style=" not in page.split("aftercare-code")[1].split("</svg>")[0]
    printed = client.post(reverse("aftercare-print", args=[session.pk]), follow=True)
    assert printed["Content-Type"] == "application/pdf"
    sheet = AftercareSheet.objects.get(way="printed")
    assert client.get(reverse("aftercare-pdf", args=[sheet.pk])).content == printed.content
    panel = client.get(reverse("aftercare-for-session", args=[session.pk])).content.decode()
    assert "Shown as a code" in panel
    assert "Printed" in panel
    unprinted = AftercareSheet.objects.get(way="shown")
    assert client.get(reverse("aftercare-pdf", args=[unprinted.pk])).status_code == 404

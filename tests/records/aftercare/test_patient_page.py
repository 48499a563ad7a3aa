"""The patient's page tells of sheets and questions, and the front desk prints a sheet there."""

import re
from html import unescape

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from planning.aftercare import SUPPLIED, AftercareKind
from planning.warning_signs import WarningSign
from records.aftercare.enums import Feeling
from records.aftercare.models import AftercareSheet
from records.aftercare.services.checking_in import answer_check_in
from records.aftercare.services.sheets import print_sheet, show_sheet
from records.sessions.models import TreatmentSession
from tests.factories import (
    make_check_in,
    make_point,
    make_product,
    make_session,
    make_session_with_unit,
    make_units,
)
from tests.pdf import pdf_text


@pytest.fixture
def panel(ann):
    return reverse("aftercare-for-patient", args=[ann.pk])


def text_of(answer) -> str:
    return unescape(re.sub(r"\s+", " ", answer.content.decode()))


def test_it_says_which_sheets_were_given_and_what_was_answered(
    panel, session, check_in, injector, signed_in
):
    client = signed_in(injector)
    assert panel in text_of(client.get(reverse("patient-detail", args=[session.patient_id])))
    shown = text_of(client.get(panel))
    assert ">none<" in shown
    assert "No answer yet" in shown
    show_sheet(session=session, actor=injector)
    answer_check_in(check_in=check_in, feeling=Feeling.WORRIED, signs=[WarningSign.LUMP])
    shown = text_of(client.get(panel))
    assert "Shown as a code" in shown
    assert "1 Dec 2026, 12:00" in shown
    assert "Something worries me" in shown
    assert "Waiting" in shown


def test_without_a_treatment_that_has_advice_it_says_so(panel, ann, injector, signed_in):
    make_session(injector, ann)
    assert "Nothing was given yet" in text_of(signed_in(injector).get(panel))


def test_the_desk_learns_that_an_answer_came_and_not_which(
    panel, session, check_in, desk, injector, signed_in
):
    sheet = show_sheet(session=session, actor=injector)
    answer_check_in(check_in=check_in, feeling=Feeling.WORRIED, signs=[WarningSign.LUMP])
    shown = text_of(signed_in(desk).get(panel))
    assert "Answered" in shown
    for words in ("worries", "Waiting", reverse("session-detail", args=[session.pk]),
                  reverse("aftercare-sheet", args=[sheet.pk])):  # fmt: skip
        assert words not in shown


def test_the_desk_prints_a_sheet_that_names_the_kind_of_treatment_alone(session, desk, signed_in):
    client = signed_in(desk)
    printed = client.post(reverse("aftercare-print", args=[session.pk]), follow=True)
    said = pdf_text(printed.content)
    assert AftercareSheet.objects.get().given_by == desk
    assert SUPPLIED[AftercareKind.FILLER].lines[0] in said
    point = session.points.get()
    for words in (point.unit.lot.number, point.unit.lot.product.name, point.region_label):
        assert words not in said


def test_the_desk_opens_no_sheet_that_names_products(session, desk, injector, signed_in):
    sheet = print_sheet(session=session, actor=injector)
    client = signed_in(desk)
    assert client.get(reverse("aftercare-pdf", args=[sheet.pk])).status_code == 403


def test_where_no_sheet_can_be_printed_the_desk_comes_back_to_the_patient(
    session, policy, desk, signed_in
):
    policy.emergency_contact = policy.phone = ""
    policy.save()
    page = signed_in(desk).post(reverse("aftercare-print", args=[session.pk]), follow=True)
    assert page.redirect_chain[-1][0] == reverse("patient-detail", args=[session.patient_id])
    assert "the owner enters an emergency contact" in text_of(page)


@pytest.fixture
def treat_again(ann, injector, owner):
    """One session more of the patient, with a sheet and a question that is answered."""

    def treat_again(number: int) -> None:
        (unit,) = make_units(
            owner, make_product(f"Filler {number}"), number=f"M{number}", quantity=1
        )
        session = make_session_with_unit(injector, ann, unit)
        make_point(session, unit)
        TreatmentSession.objects.filter(pk=session.pk).update(
            signed_at=session.started_at, signed_by=injector
        )
        show_sheet(session=session, actor=injector)
        answer_check_in(check_in=make_check_in(session), feeling=Feeling.WELL)

    return treat_again


def test_three_sessions_ask_no_more_queries_than_one(
    panel, treat_again, injector, signed_in, django_assert_num_queries, policy
):
    client = signed_in(injector)
    treat_again(1)
    with CaptureQueriesContext(connection) as one:
        client.get(panel)
    treat_again(2)
    treat_again(3)
    with django_assert_num_queries(len(one)):
        shown = client.get(panel)
    assert shown.content.decode().count("Print the sheet of") == 3


def test_a_sheet_of_the_desk_says_that_it_names_no_product(session, desk, owner, signed_in):
    sheet = print_sheet(session=session, actor=desk)
    page = signed_in(owner).get(reverse("aftercare-sheet", args=[sheet.pk]))
    assert "it was printed at the front desk" in text_of(page)

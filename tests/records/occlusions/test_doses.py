"""Hyaluronidase of an occlusion log is found by its lot: in the trace, and in a recall."""

import csv
import json

import pytest
from django.core.management import call_command
from django.urls import reverse

from records.occlusions.queries import doses_of
from records.recalls.queries.extent import extent_of
from records.recalls.queries.people import CallList
from records.recalls.queries.report import report_content
from records.sessions.services.tray import put_on_tray
from records.trace.queries import reached_patients, trace_summary
from records.trace.queries.search import LotSearch, found_lots
from tests.factories import make_occlusion_line, make_point, make_product, make_units
from tests.pdf import page_texts
from tests.records.recalls.cases import make_case, span

pytestmark = pytest.mark.django_db


@pytest.fixture
def by_unit(log, vial):
    return make_occlusion_line(log, what="dose", dose_centiunits=50_000, unit=vial.pk)


@pytest.fixture
def typed(log, vial):
    return make_occlusion_line(log, what="dose", dose_centiunits=30_000, lot=vial.lot.number)


def test_doses_are_found_by_their_unit_and_by_a_lot_that_was_typed(by_unit, typed, vial, owner):
    assert list(doses_of([vial.lot_id])) == [by_unit, typed]
    filler = make_units(owner, make_product("Filler of that number"), number="HY1")[0]
    assert not doses_of([filler.lot_id])


def test_the_lot_trace_shows_them(signed_in, owner, by_unit, typed, vial):
    page = signed_in(owner).get(reverse("trace-lot", args=[vial.lot_id])).content.decode()
    assert "Given in occlusion logs" in page
    assert "500 units".replace(" ", "\N{NO-BREAK SPACE}") in page
    assert "as it was typed" in page


def test_whoever_was_given_some_is_among_the_patients_of_the_lot(by_unit, typed, vial, session):
    assert trace_summary(vial.lot) == (1, 1, 0, 80_000)
    (reached,) = reached_patients(vial.lot)
    assert (reached.patient_id, reached.points, reached.amount) == (session.patient_id, 0, 80_000)
    assert reached.last_at == typed.at


def test_who_has_points_and_doses_of_a_lot_is_counted_once(typed, vial, session, injector):
    put_on_tray(session=session, unit=vial, actor=injector, diluent_ul=1_000)
    make_point(session, vial, amount=10_000)
    assert trace_summary(vial.lot) == (1, 1, 1, 40_000)
    (reached,) = reached_patients(vial.lot, limit=0)
    assert (reached.sessions, reached.points, reached.amount) == (1, 1, 40_000)


def test_no_page_or_paper_says_that_nobody_got_any(signed_in, owner, by_unit, vial, session):
    browser = signed_in(owner)
    name = session.patient.full_name
    pdf = browser.get(reverse("trace-pdf", args=[vial.lot_id])).content
    (text,) = page_texts(pdf)
    assert "1 patient, 1 session, 0 points, 500 units" in text
    assert "Nobody got anything" not in text
    assert text.count(name) == 2
    page = browser.get(reverse("trace-lot", args=[vial.lot_id])).content.decode()
    assert page.count(name) == 2
    (found,) = found_lots(LotSearch(number="HY1"), [vial.lot_id])
    assert found.reach == trace_summary(vial.lot)


def test_every_export_of_the_trace_has_them(capsys, by_unit, vial):
    call_command("trace_lot", "HY1", format="json")
    (dose,) = json.loads(capsys.readouterr().out)["occlusion_logs"]
    assert (dose["amount"], dose["unit_of_stock"]) == ("500", vial.label)
    call_command("trace_lot", "HY1", format="csv")
    (row,) = csv.DictReader(capsys.readouterr().out.splitlines())
    assert (row["technique"], row["amount"], row["unit"]) == ("occlusion_log", "500", "units")
    call_command("trace_lot", "HY1", format="table")
    assert "500 units" in capsys.readouterr().out


def test_the_patient_s_lots_show_them(signed_in, injector, by_unit, session):
    page = signed_in(injector).get(reverse("trace-patient", args=[session.patient_id]))
    assert by_unit.unit.label in page.content.decode()


@pytest.mark.parametrize("how", ["by_unit", "typed"])
def test_a_recall_calls_whoever_was_given_some(how, request, signed_in, owner, vial, session):
    request.getfixturevalue(how)
    case = make_case(owner, span(vial.lot.product, "HY1"))
    (row,) = CallList(case, extent_of(case))
    assert row.contact.patient_id == session.patient_id
    assert [product for product, _ in row.amounts] == [vial.lot.product]
    address = reverse("recall-person", args=[case.pk, row.contact.pk])
    assert "occlusion log" in signed_in(owner).get(address).content.decode()


def test_a_unit_that_the_notice_does_not_name_calls_nobody(owner, by_unit, vial):
    vial.serial = "S2"
    vial.save()
    by_serial = span(vial.lot.product, "HY1", serial_first="S7", serial_last="S9")
    case = make_case(owner, by_serial)
    assert not list(CallList(case, extent_of(case)))


def test_the_report_of_the_recall_names_the_dose(owner, by_unit, vial, session):
    case = make_case(owner, span(vial.lot.product, "HY1"))
    (row,) = report_content(case).people
    assert [(given.lot, given.points, given.amount) for given in row.given] == [("HY1", 0, 50_000)]

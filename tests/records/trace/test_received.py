"""From a patient to the lots they received."""

import csv
from io import StringIO

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clinic.audit.models import AuditEvent
from clinic.quarantine.services import quarantine_lot
from clinic.stock.models import UnitOfStock
from records.patients.models import Patient
from records.sessions.models import InjectionEntry, TreatmentSession
from records.sessions.queries.received import by_lot, received_by
from records.sessions.services.points import remove_point
from records.sessions.services.tray import put_on_tray
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session_with_unit,
    make_units,
)
from tests.pdf import pdf_text

ROUTES = ["trace-patient", "trace-patient-csv", "trace-patient-pdf", "trace-for-patient"]


@pytest.fixture
def ann(lot) -> Patient:
    return Patient.objects.get(full_name="Ann Example")


def rows(patient) -> list[tuple]:
    return [(row.lot.number, row.points, row.amount, row.regions) for row in received_by(patient)]


def test_a_unit_of_one_session_is_one_row(lot, ann):
    assert rows(ann) == [("LOT42", 2, 500, ("Zygomatic region",))]


def test_a_removed_point_was_not_received(lot, ann, injector):
    remove_point(point=InjectionEntry.objects.get(amount=300), actor=injector)
    assert rows(ann) == [("LOT42", 1, 200, ("Zygomatic region",))]


def test_nobody_else_s_points_are_among_them(lot, desk):
    assert rows(make_patient(desk, "Cy Example")) == []


def test_one_lot_number_of_two_products_stays_two_lots(lot, ann, owner, injector):
    (twin,) = make_units(owner, make_product("HA filler soft"), number="LOT42", quantity=1)
    put_on_tray(session=ann.sessions.get(), unit=twin, actor=injector)
    make_point(ann.sessions.get(), twin, amount=50)
    by_product = {of.product.name: rows[0].amount for of, rows in by_lot(received_by(ann))}
    assert by_product == {"HA filler 1 mL": 500, "HA filler soft": 50}


def test_the_latest_session_comes_first(lot, ann, owner, injector):
    (soft,) = make_units(owner, make_product("HA filler soft"), number="S1", quantity=1)
    first = ann.sessions.get()
    TreatmentSession.objects.filter(pk=first.pk).update(
        signed_at=first.started_at, signed_by=injector
    )
    second = make_session_with_unit(injector, ann, soft)
    make_point(second, soft, amount=50)
    put_on_tray(session=second, unit=lot.units.earliest("id"), actor=injector)
    make_point(second, lot.units.earliest("id"), amount=100)
    assert rows(ann) == [
        ("LOT42", 1, 100, ("Zygomatic region",)),
        ("S1", 1, 50, ("Zygomatic region",)),
        ("LOT42", 2, 500, ("Zygomatic region",)),
    ]
    assert [(of.number, len(rows)) for of, rows in by_lot(received_by(ann))] == [
        ("LOT42", 2),
        ("S1", 1),
    ]


def test_the_page_shows_lot_unit_day_place_amount_and_state(lot, ann, owner, signed_in):
    UnitOfStock.objects.filter(pk=lot.units.earliest("id").pk).update(serial="SN-0042")
    quarantine_lot(lot=lot, reason="Maker’s letter of 20 November", actor=owner)
    shown = signed_in(owner).get(reverse("trace-patient", args=[ann.pk])).content.decode()
    for words in [
        "LOT42", "HA filler 1 mL", "Example Maker", "30 Jun 2030", "SN-0042", "Zygomatic region",
        "0.5\u00a0mL", "Quarantined", "Maker’s letter of 20 November",
        reverse("trace-lot", args=[lot.pk]),
    ]:  # fmt: skip
        assert words in shown


def test_an_injector_reads_it_without_the_way_to_other_patients(lot, ann, injector, signed_in):
    shown = signed_in(injector).get(reverse("trace-patient", args=[ann.pk])).content.decode()
    assert "LOT42" in shown
    assert reverse("trace-lot", args=[lot.pk]) not in shown


def test_the_panel_warns_of_a_lot_that_was_stopped_since(lot, ann, owner, injector, signed_in):
    client = signed_in(injector)
    address = reverse("trace-for-patient", args=[ann.pk])
    assert "is in quarantine" not in client.get(address).content.decode()
    quarantine_lot(lot=lot, reason="Maker’s letter", actor=owner)
    assert "Lot LOT42 is in quarantine" in client.get(address).content.decode()


def test_csv_has_a_line_for_each_unit_of_a_session(lot, ann, owner, signed_in):
    response = signed_in(owner).get(reverse("trace-patient-csv", args=[ann.pk]))
    text = b"".join(response.streaming_content).decode("utf-8-sig")
    (line,) = csv.DictReader(StringIO(text, newline=""))
    assert (line["record_number"], line["name"]) == (ann.record_number, "Ann Example")
    assert (line["lot"], line["gtin"], line["expiry"]) == ("LOT42", "09521234543213", "2030-06-30")
    assert (line["points"], line["amount"], line["unit"]) == ("2", "0.5", "mL")


def test_the_pdf_names_patient_lot_and_amount(lot, ann, owner, signed_in):
    text = pdf_text(signed_in(owner).get(reverse("trace-patient-pdf", args=[ann.pk])).content)
    for words in ["Ann Example", ann.record_number, "Lot LOT42", "Example Maker", "0.5 mL"]:
        assert words in text


def test_nothing_received_says_so_everywhere(desk, owner, signed_in):
    client, patient = signed_in(owner), make_patient(desk)
    page, panel = (
        client.get(reverse(name, args=[patient.pk])) for name in ("trace-patient", ROUTES[3])
    )
    assert "Nothing was injected yet" in page.content.decode()
    assert "Nothing was injected yet" in panel.content.decode()


@pytest.mark.parametrize("route", ROUTES)
def test_unknown_patient_wrong_method_and_wrong_role(ann, desk, owner, signed_in, route):
    client = signed_in(owner)
    assert client.get(reverse(route, args=[ann.pk + 100])).status_code == 404
    assert client.post(reverse(route, args=[ann.pk])).status_code == 405
    assert signed_in(desk).get(reverse(route, args=[ann.pk])).status_code == 403


@pytest.mark.parametrize(
    ("route", "action"),
    [
        ("trace-patient", "patient.traced"),
        ("trace-patient-csv", "patient.lots_exported"),
        ("trace-patient-pdf", "patient.lots_printed"),
        ("trace-for-patient", "read.lots"),
    ],
)
def test_reading_is_in_the_audit_trail(ann, owner, signed_in, route, action):
    signed_in(owner).get(reverse(route, args=[ann.pk]))
    event = AuditEvent.objects.first()
    assert (event.action, event.patient_id, event.actor) == (action, ann.pk, owner)


def test_the_same_queries_for_1_and_20_points(points_of_one_patient, owner, signed_in):
    client, counts = signed_in(owner), []
    for points in (1, 20):
        patient = points_of_one_patient(points).units.get().points.first().session.patient
        address = reverse("trace-patient", args=[patient.pk])
        client.get(address)
        with CaptureQueriesContext(connection) as queries:
            client.get(address)
        counts.append(len(queries))
    assert counts[0] == counts[1]

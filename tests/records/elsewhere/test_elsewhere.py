"""What a patient had elsewhere: written down, withdrawn, and known to the flags of a session."""

from datetime import date, timedelta

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from planning.care import CareKind, FillerFamily, PartialDay, Precision
from records.elsewhere.errors import AlreadyWithdrawn, ReasonMissing
from records.elsewhere.models import ReportedCare
from records.elsewhere.queries import care_known_at, reports_by_patient
from records.elsewhere.services import withdraw_care
from tests.factories import make_patient, make_reported_care, refreshed

EMPTY = {
    "kind": "", "day_of_month": "", "month": "", "year": "", "region": "", "family": "unknown",
    "units": "", "note": "",
}  # fmt: skip


def add_url(patient) -> str:
    return reverse("elsewhere-add", args=[patient.pk])


def add(client, patient, **typed):
    return client.post(add_url(patient), EMPTY | typed)


@pytest.mark.parametrize(
    ("typed", "day", "precision"),
    [
        ({"day_of_month": "5", "month": "3", "year": "2024"}, date(2024, 3, 5), "day"),
        ({"month": "3", "year": "2024"}, date(2024, 3, 1), "month"),
        ({"year": "2024"}, date(2024, 1, 1), "year"),
        ({}, None, "unknown"),
    ],
)
def test_a_day_is_kept_as_far_as_it_is_known(signed_in, injector, patient, typed, day, precision):
    answer = add(signed_in(injector), patient, kind="dental", **typed)
    assert answer["Location"] == reverse("patient-detail", args=[patient.pk])
    care = ReportedCare.objects.get()
    assert (care.day, care.precision, care.patient, care.reported_by) == (
        day, precision, patient, injector,
    )  # fmt: skip


def test_filler_and_toxin_elsewhere_stand_on_the_patients_page(signed_in, owner, patient):
    client = signed_in(owner)
    add(client, patient, kind="filler", region="zygomatic", family="permanent", year="2019",
        note="Łucja’s clinic")  # fmt: skip
    add(client, patient, kind="toxin", region="glabella", units="40", month="9", year="2025")
    shown = client.get(reverse("elsewhere-for-patient", args=[patient.pk])).content.decode()
    for words in ("Filler elsewhere", "Zygomatic region, permanent", "2019", "Łucja’s clinic",
                  "Glabella, 40\u00a0units", "Sep 2025"):  # fmt: skip
        assert words in shown


def test_the_latest_stands_first_and_what_has_no_date_last(signed_in, injector, patient):
    for day in (None, date(2024, 3, 5), date(2025, 3, 5)):
        make_reported_care(injector, patient, day=day, precision="day" if day else "unknown")
    answer = signed_in(injector).get(reverse("elsewhere-for-patient", args=[patient.pk]))
    days = [care.when_text for care in answer.context["reports"]]
    assert days == ["5 Mar 2025", "5 Mar 2024", "date not known"]


@pytest.mark.parametrize(
    ("typed", "field", "message"),
    [
        ({}, "kind", "Choose what it was."),
        ({"kind": "rain"}, "kind", "not one of the available"),
        ({"kind": "dental", "month": "3"}, "year", "Type the year as well"),
        ({"kind": "dental", "year": "2024", "day_of_month": "5"}, "day_of_month", "Choose the mon"),
        ({"kind": "dental", "year": "2023", "month": "2", "day_of_month": "29"}, "day_of_month",
         "There is no such day"),
        ({"kind": "dental", "year": "20"}, "year", "a year from 1900 to 2999"),
        ({"kind": "dental", "year": "2999"}, "year", "still to come"),
        ({"kind": "dental", "year": "1950"}, "year", "not born by then"),
        ({"kind": "dental", "region": "glabella"}, "region", "Only a filler or toxin"),
        ({"kind": "dental", "family": "ha"}, "family", "Only a filler"),
        ({"kind": "filler", "units": "4"}, "units", "Only a toxin"),
        ({"kind": "toxin", "units": "4 mL"}, "units", "units, not mL"),
    ],
)  # fmt: skip
def test_bad_input_keeps_what_was_typed(signed_in, injector, patient, typed, field, message):
    answer = add(signed_in(injector), patient, **typed)
    assert answer.status_code == 422
    form = answer.context["form"]
    assert message in " ".join(form.errors[field])
    for name, value in typed.items():
        assert form[name].value() == value
    assert not ReportedCare.objects.exists()


def test_withdrawing_keeps_the_row_and_the_reason(signed_in, injector, patient):
    care = make_reported_care(injector, patient)
    url = reverse("elsewhere-withdraw", args=[care.pk])
    client = signed_in(injector)
    assert client.post(url, {"reason": ""}).status_code == 422
    assert client.post(url, {"reason": "Another person’s"}).status_code == 302
    assert refreshed(care).withdrawn_by == injector
    event = AuditEvent.objects.get(action="reported_care.withdrawn")
    assert (event.patient_id, "Another person’s" in event.data) == (patient.pk, True)
    shown = client.get(reverse("elsewhere-for-patient", args=[patient.pk])).content.decode()
    assert "Nothing recorded" in shown
    again = client.post(url, {"reason": "Twice"})
    assert (again.status_code, "withdrawn already" in again.content.decode()) == (422, True)


def test_a_withdrawal_needs_its_reason_and_happens_once(injector, patient):
    care = make_reported_care(injector, patient)
    with pytest.raises(ReasonMissing):
        withdraw_care(care=care, reason=" ", actor=injector)
    withdraw_care(care=care, reason="Not so", actor=injector)
    with pytest.raises(AlreadyWithdrawn):
        withdraw_care(care=care, reason="Not so", actor=injector)


def test_the_planning_service_is_told_as_much_as_the_patient_told(injector, patient, desk):
    make_reported_care(
        injector, patient, kind="filler", day=date(2020, 3, 1), precision="month",
        region="zygomatic", family="permanent",
    )  # fmt: skip
    make_reported_care(injector, make_patient(desk, "Bo Li"))
    (care,) = care_known_at(reports_by_patient([patient.pk])[patient.pk], None)
    assert (care.kind, care.family, care.region) == (
        CareKind.FILLER, FillerFamily.PERMANENT, "zygomatic",
    )  # fmt: skip
    assert care.when == PartialDay(date(2020, 3, 1), Precision.MONTH)


def test_what_is_told_later_leaves_a_signed_session_as_it_was(injector, patient):
    before = timezone.now() - timedelta(seconds=1)
    care = make_reported_care(injector, patient)
    between = timezone.now()
    withdraw_care(care=care, reason="Not so", actor=injector)
    reports = reports_by_patient([patient.pk])[patient.pk]
    assert care_known_at(reports, before) == ()
    assert len(care_known_at(reports, between)) == 1
    assert care_known_at(reports, None) == ()


@pytest.mark.parametrize(
    "fields",
    [
        {"kind": "rain"},
        {"day": None},
        {"precision": "unknown"},
        {"region": "glabella"},
        {"centiunits": 100},
        {"kind": "toxin", "centiunits": 0},
        {"kind": "filler", "family": ""},
        {"family": "ha"},
        {"withdrawn_at": timezone.now()},
    ],
)
def test_the_database_refuses_what_cannot_be(injector, patient, fields):
    with pytest.raises(IntegrityError), transaction.atomic():
        ReportedCare.objects.create(
            patient=patient, reported_at=timezone.now(), reported_by=injector,
            **{"kind": "vaccine", "day": date(2026, 1, 1), **fields},
        )  # fmt: skip


@pytest.mark.parametrize(
    "change", [{"kind": "dental"}, {"day": None, "precision": "unknown"}, {"note": "Other"}]
)
def test_a_report_stays_as_it_was_told(injector, patient, change):
    care = make_reported_care(injector, patient)
    with pytest.raises(IntegrityError, match="as it was told"), transaction.atomic():
        ReportedCare.objects.filter(pk=care.pk).update(**change)
    with pytest.raises(IntegrityError, match="stays in the record"), transaction.atomic():
        ReportedCare.objects.filter(pk=care.pk).delete()


def test_a_withdrawn_report_does_not_come_back(injector, patient):
    care = make_reported_care(injector, patient)
    withdraw_care(care=care, reason="Not so", actor=injector)
    with pytest.raises(IntegrityError, match="was withdrawn"), transaction.atomic():
        ReportedCare.objects.filter(pk=care.pk).update(withdrawn_at=None, withdrawn_by=None)


def test_the_panel_takes_the_same_queries_for_any_number(signed_in, injector, patient):
    client, url = signed_in(injector), reverse("elsewhere-for-patient", args=[patient.pk])
    make_reported_care(injector, patient)
    client.get(url)
    few = _queries(client, url)
    make_reported_care(injector, patient, kind="dental")
    make_reported_care(injector, patient, kind="skin")
    assert _queries(client, url) == few


def _queries(client, url: str) -> int:
    with CaptureQueriesContext(connection) as queries:
        client.get(url)
    return len(queries)

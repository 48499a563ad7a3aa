"""Who saw a record, and which records a person opened: pages, files, and what they cost."""

import csv
from datetime import timedelta
from io import StringIO

import pytest
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.audit.queries import of_kind
from clinic.audit.services import acting, record_read
from planning.act_kinds import ActKind, kind_of
from records.record_access.models import StaffPatient
from tests.factories import make_alert, make_patient

pytestmark = pytest.mark.django_db

ACTIONS = [
    "read", "read.timeline", "messages.read", "note.printed", "printed", "exported",
    "patient.record_exported", "message.sent", "patient.changed", "alert.added", "point.read_off",
    "recall.list_read", "mailing.written", "patient.traced",
]  # fmt: skip


def acts(actor, patient, *actions: str) -> None:
    for action in actions:
        record_read(actor, patient, patient_id=patient.pk, action=action)


def of_patient(patient) -> str:
    return reverse("record-access-patient", args=[patient.pk])


def shown(client, address: str, **query) -> list[str]:
    answer = client.get(address, query)
    assert answer.status_code == 200
    return [line.told.event.action for line in answer.context["lines"]]


@pytest.mark.parametrize("kind", list(ActKind))
def test_the_database_tells_the_kinds_as_the_rule_does(owner, patient, kind):
    acts(owner, patient, *ACTIONS)
    asked = set(AuditEvent.objects.filter(of_kind(kind)).values_list("action", flat=True))
    known = set(AuditEvent.objects.values_list("action", flat=True))
    assert asked == {action for action in known if kind_of(action) is kind}


def test_the_owner_sees_who_did_what_with_a_record(owner, desk, injector, patient, signed_in):
    other = make_patient(desk, "Other Person")
    acts(injector, patient, "read", "note.printed")
    acts(desk, other, "read")
    client = signed_in(owner)
    assert shown(client, of_patient(patient))[:3] == ["read.access", "note.printed", "read"]
    page = client.get(of_patient(patient)).content.decode()
    for words in (
        "Ida Injector",
        "Note printed",
        "Everybody so far",
        "Dora Desk",
        patient.full_name,
    ):
        assert words in page
    assert other.record_number not in page


def test_it_is_narrowed_down_by_kind_person_and_days(owner, desk, injector, patient, signed_in):
    acts(injector, patient, "read", "note.printed", "patient.record_exported", "message.sent")
    client = signed_in(owner)
    address = of_patient(patient)
    assert shown(client, address, kind="printed") == ["note.printed"]
    assert shown(client, address, kind="exported") == ["patient.record_exported"]
    assert shown(client, address, kind="sent") == ["message.sent"]
    assert shown(client, address, kind="changed") == ["patient.saved"] or shown(
        client, address, kind="changed"
    )
    assert shown(client, address, kind="opened", actor=injector.pk) == ["read"]
    today = timezone.localdate()
    assert shown(client, address, kind="printed", from_day=today + timedelta(days=1)) == []
    assert shown(client, address, kind="printed", to_day=today) == ["note.printed"]


def test_what_was_typed_wrong_is_told_on_the_field(owner, patient, signed_in):
    answer = signed_in(owner).get(
        of_patient(patient),
        {
            "from_day": "2026-12-02",
            "to_day": "2026-12-01",
            "kind": "x",
            "before": "y",
            "actor": "0",
        },
    )
    assert answer.status_code == 200
    assert set(answer.context["form"].errors) == {"to_day", "kind", "before", "actor"}


def test_pages_go_on_from_a_position(owner, desk, patient, signed_in):
    acts(desk, patient, *["read"] * 60)
    client, address = signed_in(owner), of_patient(patient)
    first = client.get(address, {"kind": "opened", "actor": desk.pk}).context
    assert (len(first["lines"]), first["is_first_page"]) == (50, True)
    acts(desk, patient, "read")  # what is new shifts nothing
    query = {"kind": "opened", "actor": desk.pk, "before": first["next_before"]}
    second = client.get(address, query).context
    assert len(second["lines"]) == 10
    assert second["next_before"] is None
    ids = [line.told.event.id for page in (first, second) for line in page["lines"]]
    assert ids == sorted(ids, reverse=True)


@pytest.mark.parametrize("route", ["record-access-patient", "record-access-person"])
def test_a_page_costs_the_same_for_few_and_many(
    owner, desk, injector, patient, signed_in, route, django_assert_num_queries
):
    pk = patient.pk if route == "record-access-patient" else desk.pk
    client, address = signed_in(owner), reverse(route, args=[pk])
    acts(desk, patient, "read")
    client.get(address)
    with django_assert_num_queries(40, exact=False) as few:
        client.get(address)
    for number in range(20):
        acts(desk, patient, "read", "note.printed")
        acts(desk, make_patient(desk, f"Pat {'abcdefghijklmnopqrst'[number] * 3}"), "read")
    acts(injector, patient, "read")
    with django_assert_num_queries(len(few)):
        client.get(address)


def test_looking_is_itself_in_the_trail(owner, patient, signed_in):
    client = signed_in(owner)
    for suffix, action in [
        ("", "read.access"), ("-csv", "access.exported"), ("-pdf", "access.printed"),
    ]:  # fmt: skip
        answer = client.get(reverse(f"record-access-patient{suffix}", args=[patient.pk]))
        assert answer.status_code == 200
        event = AuditEvent.objects.first()
        assert (event.action, event.actor, event.patient_id) == (action, owner, patient.pk)
    for suffix, action in [
        ("", "read.access"), ("-csv", "access.exported"), ("-pdf", "access.printed"),
    ]:  # fmt: skip
        client.get(reverse(f"record-access-person{suffix}", args=[owner.pk]))
        event = AuditEvent.objects.first()
        assert (event.action, event.subject_type, event.subject_id) == (
            action, "user", str(owner.pk),
        )  # fmt: skip


def rows_of(answer) -> list[dict]:
    text = b"".join(answer.streaming_content).decode("utf-8-sig")
    return list(csv.DictReader(StringIO(text)))


def test_the_csv_holds_all_that_the_filter_shows(owner, desk, patient, signed_in):
    acts(desk, patient, *["read"] * 55)
    make_alert(desk, patient, "=1+1")
    client = signed_in(owner)
    address = reverse("record-access-patient-csv", args=[patient.pk])
    rows = rows_of(client.get(address, {"kind": "opened", "before": "3"}))
    assert len(rows) == 55
    assert rows[0]["person"] == "Dora Desk"
    assert {row["kind"] for row in rows} == {"opened"}
    assert rows[0]["record_number"] == patient.record_number
    assert client.get(address)["Content-Disposition"] == (
        f'attachment; filename="who-saw-{patient.record_number}.csv"'
    )


def test_the_pdf_says_where_it_was_cut(owner, desk, patient, signed_in, monkeypatch):
    printed = {}
    monkeypatch.setattr("records.record_access.views.accesses.MOST_PRINTED", 3)
    monkeypatch.setattr(
        "records.record_access.views.accesses.render_pdf",
        lambda html: printed.setdefault("html", html).encode(),
    )
    acts(desk, patient, *["read"] * 9)
    answer = signed_in(owner).get(reverse("record-access-patient-pdf", args=[patient.pk]))
    assert answer["Content-Type"] == "application/pdf"
    assert "These are the newest 3" in printed["html"]
    assert printed["html"].count("<tr>") == 4


def test_a_person_shows_the_records_they_opened(owner, desk, injector, patient, signed_in):
    other = make_patient(desk, "Other Person")
    acts(injector, patient, "read", "note.printed")
    acts(injector, other, "read")
    with acting(injector) as trail:
        trail.add("policy.changed", injector)
    client = signed_in(owner)
    address = reverse("record-access-person", args=[injector.pk])
    assert shown(client, address) == ["read", "note.printed", "read"]
    assert shown(client, address, patient=patient.pk) == ["note.printed", "read"]
    assert shown(client, address, kind="printed") == ["note.printed"]
    opened = client.get(address).context["opened"]
    assert [number for _, number in opened] == [2, 2, 2]


def test_own_record_is_named_by_its_number(owner, injector, patient, signed_in):
    client = signed_in(owner)
    link = reverse("record-access-own-record", args=[injector.pk])
    refused = client.post(link, {"record_number": "P999999"})
    assert refused.status_code == 422
    assert "No patient has this record number." in refused.content.decode()
    assert "P999999" in refused.content.decode()
    assert client.post(link, {"record_number": ""}).status_code == 422
    page = client.post(link, {"record_number": patient.record_number.lower()}, follow=True)
    assert "Is a patient here" in page.content.decode()
    assert StaffPatient.objects.the_same().get().patient == patient
    sent = {
        "person": injector.pk, "patient": patient.pk, "is_same": "no", "back": injector.pk,
    }  # fmt: skip
    page = client.post(reverse("staff-patient-say"), sent, follow=True)
    assert page.redirect_chain[-1][0] == reverse("record-access-person", args=[injector.pk])
    assert not StaffPatient.objects.the_same().exists()


def test_the_record_leads_there_for_the_owner_alone(owner, desk, injector, patient, signed_in):
    record = reverse("patient-detail", args=[patient.pk])
    link = f'href="{of_patient(patient)}"'
    assert link in signed_in(owner).get(record).content.decode()
    assert link not in signed_in(desk).get(record).content.decode()
    assert link not in signed_in(injector).get(record).content.decode()


def test_unknown_records_and_people_are_not_there(owner, signed_in):
    client = signed_in(owner)
    for route in ("record-access-patient", "record-access-person"):
        for suffix in ("", "-csv", "-pdf"):
            assert client.get(reverse(route + suffix, args=[10**9])).status_code == 404

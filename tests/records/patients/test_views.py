"""The patients' pages, as each role meets them."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clinic.audit.models import AuditEvent
from records.patients.services import NO_KNOWN_ALLERGIES, add_alert
from tests.factories import make_alert, make_patient
from tests.records.patients.pages import errors_in, page, value_of

# --- finding ----------------------------------------------------------------------------------


def test_search_fragment_shows_the_hits_and_says_how_many(signed_in, desk):
    make_patient(desk, "José Álvarez")
    make_patient(desk, "Zed Nobody")
    html = page(signed_in(desk).post(reverse("patient-search"), {"q": "jose"}))
    assert re.findall(r"<bdi>(.*?)</bdi>", html) == ["José Álvarez"]
    assert 'data-said="1 patient found. Press Enter to open the record."' in html


def test_search_on_the_page_falls_back_to_who_was_registered_last(signed_in, desk, patient):
    html = page(signed_in(desk).post(reverse("patient-search"), {"q": ""}))
    assert f'id="patient-list-results-{patient.pk}"' in html


def test_search_without_a_script_shows_the_same_on_the_page(signed_in, desk, patient):
    make_patient(desk, "Zed Nobody")
    html = page(signed_in(desk).post(reverse("patient-list"), {"q": "exam"}, follow=True))
    assert value_of(html, "q") == "exam"
    assert re.findall(r'people__name"><bdi>(.*?)</bdi>', html) == ["Ann Example"]


def test_going_back_to_what_was_found_asks_nothing_of_the_browser(signed_in, desk, patient):
    """The hits stand at an address that a GET answers; it holds no name, for logs keep it."""
    client, url = signed_in(desk), reverse("patient-list")
    answer = client.post(url, {"q": "Exam"})
    assert (answer.status_code, answer.headers["Location"]) == (302, f"{url}?found=")
    assert value_of(page(client.get(f"{url}?found=")), "q") == "Exam"
    assert value_of(page(client.get(url)), "q") == ""


def test_search_takes_nothing_from_the_address(signed_in, desk):
    """Addresses are kept in logs; a name in one must not become a habit."""
    make_patient(desk, "Ann Example")
    make_patient(desk, "Zed Nobody")
    html = page(signed_in(desk).get(reverse("patient-list"), {"q": "zed"}))
    assert re.findall(r'people__name"><bdi>(.*?)</bdi>', html) == ["Zed Nobody", "Ann Example"]
    assert signed_in(desk).get(reverse("patient-search"), {"q": "zed"}).status_code == 405


def test_more_hits_than_shown_are_owned_up_to(signed_in, desk):
    for number in range(21):
        make_patient(desk, f"Ann Number{number}")
    html = page(signed_in(desk).post(reverse("patient-search"), {"q": "ann"}))
    assert html.count('role="option"') == 20
    assert "The first 20 are shown. More match" in html


@pytest.mark.parametrize("typed", ["x" * 5000, "\x00", "<script>alert(1)</script>"])
def test_search_survives_what_is_no_name(signed_in, desk, patient, typed):
    response = signed_in(desk).post(reverse("patient-list"), {"q": typed}, follow=True)
    assert response.status_code == 200
    assert "<script>alert" not in page(response)


def test_empty_clinic_says_what_to_do(signed_in, desk):
    assert "Register the first patient" in page(signed_in(desk).get(reverse("patient-list")))


def test_list_asks_the_database_the_same_for_one_and_three(signed_in, desk, patient):
    client = signed_in(desk)
    counts = []
    for name in ["Bob Example", "Cem Example"]:
        with CaptureQueriesContext(connection) as queries:
            client.post(reverse("patient-search"), {"q": "exam"})
        counts.append(len(queries))
        make_patient(desk, name)
    assert counts[0] == counts[1]


# --- reading ----------------------------------------------------------------------------------


def test_record_shows_alerts_by_level_and_the_reading_is_kept(signed_in, injector, patient):
    make_alert(injector, patient, "Prefers mornings", kind="other", level="note")
    make_alert(injector, patient, "Lidocaine", level="stop")
    make_alert(injector, patient, "Plasters", level="caution")
    before = AuditEvent.objects.count()
    html = page(signed_in(injector).get(reverse("patient-detail", args=[patient.pk])))
    event = AuditEvent.objects.order_by("-id").first()
    assert AuditEvent.objects.count() == before + 1
    assert (event.action, event.patient_id, event.actor) == ("read", patient.pk, injector)
    assert re.findall(r'flag__title"><bdi>(.*?)</bdi>', html) == [
        "Lidocaine", "Plasters", "Prefers mornings",
    ]  # fmt: skip
    strip = re.search(r'class="identity__alerts".*?</ul>', html, re.DOTALL)[0]
    assert re.findall(r'class="is-(\w+)">.*?(\w+)</li>', strip) == [
        ("stop", "Lidocaine"), ("caution", "Plasters"),
    ]  # fmt: skip
    assert "Prefers mornings" not in strip


CLINICAL_PANELS = [
    "plans", "sessions", "consents", "timeline", "assessments", "photographs", "outcomes",
    "adverse-events", "occlusions", "aftercare", "appointments", "waiting-list", "reviews",
    "reminders", "screening", "elsewhere", "imports", "trace", "whole-record",
]  # fmt: skip


@pytest.mark.parametrize(
    ("role", "panels", "starts"),
    [("desk",
      ["consents", "aftercare", "appointments", "waiting-list", "reviews", "reminders",
       "screening"], False),
     ("injector", CLINICAL_PANELS, True),
     ("owner", CLINICAL_PANELS, False)],
)  # fmt: skip
def test_each_role_sees_its_parts_of_the_record(signed_in, request, patient, role, panels, starts):
    person = request.getfixturevalue(role)
    html = page(signed_in(person).get(reverse("patient-detail", args=[patient.pk])))
    assert re.findall(r'hx-get="/([\w-]+)/for-patient/', html) == panels
    assert (reverse("session-start", args=[patient.pk]) in html) is starts
    assert f"{reverse('appointment-create')}?patient={patient.pk}&amp;next=%2Fpatients%2F" in html


def test_record_without_answer_about_allergies_asks(signed_in, desk, patient):
    client = signed_in(desk)
    url = reverse("alert-none-known", args=[patient.pk])
    html = page(client.get(reverse("patient-detail", args=[patient.pk])))
    assert "Allergies not asked yet" in html
    assert url in html
    assert client.post(url).status_code == 302
    html = page(client.get(reverse("patient-detail", args=[patient.pk])))
    assert "Allergies not asked yet" not in html


def test_names_are_escaped_and_keep_their_direction(signed_in, desk):
    patient = make_patient(desk, "<b>O'Brien</b> محمد")
    html = page(signed_in(desk).get(reverse("patient-detail", args=[patient.pk])))
    assert "<bdi>&lt;b&gt;O&#x27;Brien&lt;/b&gt; محمد</bdi>" in html


def test_name_stays_out_of_the_title(signed_in, desk, patient):
    """Titles go into the browser's history and into the names of printed files."""
    html = page(signed_in(desk).get(reverse("patient-detail", args=[patient.pk])))
    assert "Example" not in re.search("<title>(.*?)</title>", html)[1]


# --- alerts -----------------------------------------------------------------------------------


def test_alert_is_added(signed_in, injector, patient):
    data = {"kind": "medical", "level": "caution", "text": "Takes an anticoagulant"}
    response = signed_in(injector).post(reverse("alert-add", args=[patient.pk]), data)
    assert response.url == reverse("patient-detail", args=[patient.pk])
    assert [(a.text, a.added_by) for a in patient.alerts.all()] == [(data["text"], injector)]


def test_alert_without_text_is_refused(signed_in, desk, patient):
    data = {"kind": "medical", "level": "caution", "text": " "}
    html = page(signed_in(desk).post(reverse("alert-add", args=[patient.pk]), data))
    assert errors_in(html) == ["Say what it is."]
    assert not patient.alerts.exists()


def test_contradiction_to_an_allergy_is_refused_with_a_sentence(signed_in, desk, patient):
    make_alert(desk, patient)
    html = page(signed_in(desk).post(reverse("alert-none-known", args=[patient.pk])))
    assert "The record holds an allergy. End that alert first, and say why." in html


def test_alert_is_ended_with_a_reason_and_stays_to_be_read(signed_in, desk, patient):
    alert = make_alert(desk, patient)
    client, url = signed_in(desk), reverse("alert-end", args=[alert.pk])
    said = "Say why this alert no longer holds."
    assert errors_in(page(client.post(url, {"reason": ""}))) == [said]
    assert client.post(url, {"reason": "Tested negative."}).status_code == 302
    html = page(client.get(reverse("patient-detail", args=[patient.pk])))
    assert "Tested negative." in html
    assert client.get(url).status_code == 404, "an ended alert is not ended again"


# --- every page -------------------------------------------------------------------------------

WITH_PATIENT = ["patient-detail", "patient-edit", "alert-add", "alert-none-known"]


@pytest.mark.parametrize("name", [*WITH_PATIENT, "alert-end"])
def test_unknown_id_is_not_found(signed_in, desk, name):
    assert signed_in(desk).get(reverse(name, args=[999_999])).status_code == 404


@pytest.mark.parametrize("name", WITH_PATIENT)
def test_stranger_is_sent_to_sign_in(client, patient, name):
    response = client.get(reverse(name, args=[patient.pk]))
    assert response.url.startswith(reverse("staff-login"))


def test_stranger_finds_nobody(client, patient):
    response = client.post(reverse("patient-search"), {"q": "ann"})
    assert response.status_code == 401
    assert b"Example" not in response.content


@pytest.mark.parametrize("name", WITH_PATIENT)
def test_wrong_method(signed_in, desk, patient, name):
    assert signed_in(desk).delete(reverse(name, args=[patient.pk])).status_code == 405


@pytest.mark.parametrize("name", WITH_PATIENT)
def test_each_opening_is_one_reading(signed_in, desk, patient, name):
    add_alert(patient=patient, **vars(NO_KNOWN_ALLERGIES), actor=desk)
    before = AuditEvent.objects.filter(action="read", patient_id=patient.pk).count()
    signed_in(desk).get(reverse(name, args=[patient.pk]))
    after = AuditEvent.objects.filter(action="read", patient_id=patient.pk).count()
    assert after == before + 1


def test_record_asks_the_database_the_same_for_one_alert_and_three(signed_in, desk, patient):
    client, url, counts = signed_in(desk), reverse("patient-detail", args=[patient.pk]), []
    for text in ["Lidocaine", "Latex", "Penicillin"]:
        make_alert(desk, patient, text)
        with CaptureQueriesContext(connection) as queries:
            client.get(url)
        counts.append(len(queries))
    assert counts[0] == counts[2]

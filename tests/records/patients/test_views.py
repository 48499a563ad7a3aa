"""The patients' pages, as each role meets them."""

import re
from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clinic.audit.models import AuditEvent
from records.patients.models import Patient
from records.patients.services import NO_KNOWN_ALLERGIES, add_alert
from tests.factories import make_alert, make_patient, refreshed

TYPED = {
    "full_name": "José Álvarez", "known_as": "Pepe", "birth_date": "02.03.1971", "sex": "male",
    "phone": "020 7946 0018", "email": "", "address": "", "preferred_channel": "phone",
    "weight_g": "62.5", "alerts-TOTAL_FORMS": "2", "alerts-INITIAL_FORMS": "0",
    "alerts-0-kind": "allergy", "alerts-0-level": "stop", "alerts-0-text": "Lidocaine",
    "alerts-1-kind": "allergy", "alerts-1-level": "caution", "alerts-1-text": "",
}  # fmt: skip
NO_ALERT = TYPED | {"alerts-0-text": ""}


def page(response) -> str:
    return response.content.decode()


def value_of(html: str, name: str) -> str:
    """What the input of that name shows."""
    tag = re.search(rf'<input[^>]*name="{name}"[^>]*>', html)[0]
    found = re.search(r'value="([^"]*)"', tag)
    return found[1] if found else ""


def errors_in(html: str) -> list[str]:
    return re.findall(r'class="field__error">.*?<span>(.*?)</span></p>', html, re.DOTALL)


# --- finding ----------------------------------------------------------------------------------


def test_search_fragment_shows_the_hits_and_says_how_many(signed_in, desk):
    make_patient(desk, "José Álvarez")
    make_patient(desk, "Zed Nobody")
    html = page(signed_in(desk).post(reverse("patient-search"), {"q": "jose"}))
    assert re.findall(r"<bdi>(.*?)</bdi>", html) == ["José Álvarez"]
    assert 'data-said="1 patient found. Press Enter to open the record."' in html


def test_search_fragment_is_empty_until_something_is_typed(signed_in, desk, patient):
    assert signed_in(desk).post(reverse("patient-search"), {"q": " "}).content == b""


def test_search_on_the_page_falls_back_to_who_was_registered_last(signed_in, desk, patient):
    html = page(
        signed_in(desk).post(
            reverse("patient-search"),
            {"q": ""},
            headers={"HX-Request": "true", "HX-Target": "patient-list-results"},
        )
    )
    assert f'id="patient-list-results-{patient.pk}"' in html


def test_search_without_a_script_shows_the_same_on_the_page(signed_in, desk, patient):
    make_patient(desk, "Zed Nobody")
    html = page(signed_in(desk).post(reverse("patient-list"), {"q": "exam"}))
    assert value_of(html, "q") == "exam"
    assert re.findall(r'people__name"><bdi>(.*?)</bdi>', html) == ["Ann Example"]


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
    response = signed_in(desk).post(reverse("patient-list"), {"q": typed})
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


# --- registering ------------------------------------------------------------------------------


def register(client, **typed):
    return client.post(reverse("patient-create"), TYPED | typed)


def test_registering_keeps_everything_that_was_typed(signed_in, desk):
    response = register(signed_in(desk))
    patient = Patient.objects.get()
    assert response.url == reverse("patient-detail", args=[patient.pk])
    assert (patient.full_name, patient.known_as) == ("José Álvarez", "Pepe")
    assert (patient.birth_date, patient.sex) == (date(1971, 3, 2), "male")
    assert (patient.phone, patient.weight_g) == ("020 7946 0018", 62_500)
    alert = patient.alerts.get()
    assert (alert.kind, alert.level, alert.text) == ("allergy", "stop", "Lidocaine")
    assert alert.added_by == desk


def test_registering_without_known_allergies_notes_that_they_were_asked(signed_in, desk):
    signed_in(desk).post(reverse("patient-create"), NO_ALERT | {"none_known": "on"})
    assert [alert.kind for alert in Patient.objects.get().alerts.all()] == ["none_known"]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"full_name": "??"}, "Type the name with at least one letter."),
        ({"full_name": ""}, "This field is required."),
        ({"birth_date": "3.4.80"}, "Type day, month and full year, such as 17.05.1980."),
        ({"birth_date": "2.3.2999"},
         "The date of birth must lie before today. Please check the year."),
        ({"birth_date": "2.3.1871"}, "That would be over 120 years ago. Please check the year."),
        ({"weight_g": "625"}, "Type a weight from 20 to 400 kg, such as 62.5."),
        ({"email": "ann@"}, "Enter a valid email address."),
        ({"phone": ""}, "To reach the patient by phone, type a telephone number, or choose another"
                        " channel."),
        ({"preferred_channel": "email"}, "To reach the patient by e-mail, type an e-mail address,"
                                         " or choose another channel."),
        ({"alerts-0-text": ""}, "Type an allergy above, or tick that none is known."),
        ({"none_known": "on"}, "An allergy is typed above. Take away the tick, or the allergy."),
    ],
)  # fmt: skip
def test_bad_input_is_named_and_nothing_typed_is_lost(signed_in, desk, typed, said):
    response = register(signed_in(desk), **typed)
    html = page(response)
    assert errors_in(html) == [said]
    assert "Not saved yet" in html
    for name, text in (TYPED | typed).items():
        if name in {"full_name", "birth_date", "weight_g", "phone", "email", "alerts-0-text"}:
            assert value_of(html, name) == text
    assert not Patient.objects.exists()


def test_broken_rows_are_refused_without_a_crash(signed_in, desk):
    data = {key: text for key, text in TYPED.items() if not key.startswith("alerts")}
    assert signed_in(desk).post(reverse("patient-create"), data).status_code == 200
    assert register(signed_in(desk), **{"alerts-TOTAL_FORMS": "2000"}).status_code == 200
    assert register(signed_in(desk), **{"alerts-0-kind": "none_known"}).status_code == 200
    assert not Patient.objects.exists()


def test_unknown_number_is_kept_as_typed_and_doubted(signed_in, desk):
    response = signed_in(desk).post(reverse("patient-create"), TYPED | {"phone": "12345"})
    html = page(signed_in(desk).get(response.url))
    assert Patient.objects.get().phone == "12345"
    assert "No such telephone number is known in its country. It is kept as typed." in html


def test_likely_duplicate_is_shown_before_saving(signed_in, desk):
    known = make_patient(desk, "Jose Alvarez", birth_date=date(1971, 3, 2))
    html = page(register(signed_in(desk)))
    assert Patient.objects.count() == 1
    assert f'href="{reverse("patient-detail", args=[known.pk])}"' in html
    assert "Part of the name is the same, and the date of birth too." in html
    assert value_of(html, "full_name") == "José Álvarez"
    assert value_of(html, "alerts-0-text") == "Lidocaine"


def test_another_person_is_saved_after_the_confirmation(signed_in, desk):
    make_patient(desk, "Jose Alvarez", birth_date=date(1971, 3, 2))
    html = page(register(signed_in(desk)))
    confirmed = re.search(r'name="another_person" value="([^"]*)"', html)[1]
    assert register(signed_in(desk), another_person=confirmed).status_code == 302
    assert Patient.objects.count() == 2


def test_confirmation_covers_only_those_who_were_shown(signed_in, desk):
    first = make_patient(desk, "Jose Alvarez", birth_date=date(1971, 3, 2))
    make_patient(desk, "Pepe Alvarez", birth_date=date(1971, 3, 2))
    html = page(register(signed_in(desk), another_person=str(first.pk)))
    assert "Pepe Alvarez" in html
    assert Patient.objects.count() == 2


# --- changing ---------------------------------------------------------------------------------


def test_edit_page_shows_what_is_on_record(signed_in, desk):
    patient = make_patient(desk, "Zoë O'Neill", phone="1", weight_g=62_500)
    html = page(signed_in(desk).get(reverse("patient-edit", args=[patient.pk])))
    shown = [value_of(html, name) for name in ("full_name", "birth_date", "weight_g")]
    assert shown == ["Zoë O&#x27;Neill", "17.05.1980", "62.5"]


def test_edit_saves_and_finds_by_the_new_name(signed_in, desk, patient):
    client = signed_in(desk)
    assert client.post(reverse("patient-edit", args=[patient.pk]), TYPED).status_code == 302
    assert refreshed(patient).full_name == "José Álvarez"
    assert "José" in page(client.post(reverse("patient-search"), {"q": "alvarez"}))


def test_edit_with_bad_input_keeps_record_and_typed(signed_in, desk, patient):
    url = reverse("patient-edit", args=[patient.pk])
    html = page(signed_in(desk).post(url, TYPED | {"weight_g": "625"}))
    assert value_of(html, "full_name") == "José Álvarez"
    assert "<bdi>Ann Example</bdi>" in html, "the heading keeps the name on record"
    assert refreshed(patient).full_name == "Ann Example"


def test_edit_asks_about_duplicates_only_when_the_person_changes(signed_in, desk, patient):
    make_patient(desk, "Ann Example")
    url, client = reverse("patient-edit", args=[patient.pk]), signed_in(desk)
    same = TYPED | {"full_name": "Ann Example", "known_as": "", "birth_date": "17.05.1980"}
    patient.phone = TYPED["phone"]
    patient.save()
    assert client.post(url, same | {"weight_g": "70"}).status_code == 302
    assert "another person" in page(client.post(url, same | {"known_as": "Annie"}))


# --- reading ----------------------------------------------------------------------------------


def test_record_shows_alerts_by_level_and_the_reading_is_kept(signed_in, injector, patient):
    make_alert(injector, patient, "Prefers mornings", kind="other", level="note")
    make_alert(injector, patient, "Lidocaine", level="stop")
    before = AuditEvent.objects.count()
    html = page(signed_in(injector).get(reverse("patient-detail", args=[patient.pk])))
    event = AuditEvent.objects.order_by("-id").first()
    assert AuditEvent.objects.count() == before + 1
    assert (event.action, event.patient_id, event.actor) == ("read", patient.pk, injector)
    assert re.findall(r'flag__title"><bdi>(.*?)</bdi>', html) == ["Lidocaine", "Prefers mornings"]
    strip = re.search(r'class="identity__alerts".*?</ul>', html, re.DOTALL)[0]
    assert "Lidocaine" in strip
    assert "Prefers mornings" not in strip


@pytest.mark.parametrize(
    ("role", "panels", "starts"),
    [("desk", ["reviews", "appointments"], False),
     ("injector", ["sessions", "reviews", "appointments"], True),
     ("owner", ["sessions", "reviews", "appointments"], False)],
)  # fmt: skip
def test_each_role_sees_its_parts_of_the_record(signed_in, request, patient, role, panels, starts):
    person = request.getfixturevalue(role)
    html = page(signed_in(person).get(reverse("patient-detail", args=[patient.pk])))
    assert re.findall(r'hx-get="/(\w+)/for-patient/', html) == panels
    assert (reverse("session-start", args=[patient.pk]) in html) is starts
    assert f'{reverse("appointment-create")}?patient={patient.pk}"' in html


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
    assert errors_in(html) == ["This field is required."]
    assert not patient.alerts.exists()


def test_contradiction_to_an_allergy_is_refused_with_a_sentence(signed_in, desk, patient):
    make_alert(desk, patient)
    html = page(signed_in(desk).post(reverse("alert-none-known", args=[patient.pk])))
    assert "The record holds an allergy. End that alert first, and say why." in html


def test_alert_is_ended_with_a_reason_and_stays_to_be_read(signed_in, desk, patient):
    alert = make_alert(desk, patient)
    client, url = signed_in(desk), reverse("alert-end", args=[alert.pk])
    assert errors_in(page(client.post(url, {"reason": ""}))) == ["This field is required."]
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
    assert response.url.startswith(reverse("staff-login"))
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

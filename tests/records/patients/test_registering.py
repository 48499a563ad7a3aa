"""Registering a patient and changing the record: nothing typed is lost, nobody is entered twice."""

import re
from datetime import date

import pytest
from django.urls import reverse

from records.patients.forms import BirthDateField
from records.patients.models import Patient
from tests.factories import make_patient, refreshed
from tests.records.patients.pages import errors_in, page, value_of

TYPED = {
    "full_name": "José Álvarez", "known_as": "Pepe", "birth_date": "02.03.1971", "sex": "male",
    "phone": "020 7946 0018", "email": "", "address": "", "preferred_channel": "phone",
    "weight_g": "62.5", "alerts-TOTAL_FORMS": "2", "alerts-INITIAL_FORMS": "0",
    "alerts-0-kind": "allergy", "alerts-0-level": "stop", "alerts-0-text": "Lidocaine",
    "alerts-1-kind": "allergy", "alerts-1-level": "caution", "alerts-1-text": "",
}  # fmt: skip
NO_ALERT = TYPED | {"alerts-0-text": ""}


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


@pytest.mark.parametrize("typed", ["4 Oct 1965", "October 4th, 1965", "4.10.65", "04.10.1965"])
def test_a_date_of_birth_is_read_as_the_search_reads_it(typed):
    assert BirthDateField().clean(typed) == date(1965, 10, 4)


def test_registering_without_known_allergies_notes_that_they_were_asked(signed_in, desk):
    signed_in(desk).post(reverse("patient-create"), NO_ALERT | {"none_known": "on"})
    assert [alert.kind for alert in Patient.objects.get().alerts.all()] == ["none_known"]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"full_name": "??"}, "Type the name with at least one letter."),
        ({"full_name": ""}, "Name is required."),
        ({"birth_date": ""}, "Date of birth is required."),
        ({"birth_date": "3.4.25"},
         "That may be 3 April 2025 or 3 April 1925: type day, month and full year, such as"
         " 17.05.1980."),
        ({"birth_date": "4/10/65"},
         "That may be 4 October 1965 or 10 April 1965: type day, month and full year, such as"
         " 17.05.1980."),
        ({"birth_date": "31/02/1990"},
         "No such day: type day, month and full year, such as 17.05.1980."),
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


def test_number_that_cannot_be_is_asked_about_before_saving(signed_in, desk):
    html = page(register(signed_in(desk), phone="0123"))
    assert "Please read the telephone number back: it does not look complete." in html
    assert value_of(html, "phone") == "0123"
    assert value_of(html, "alerts-0-text") == "Lidocaine"
    assert not Patient.objects.exists()
    # An answer for one number is none for another.
    html = page(register(signed_in(desk), phone="0124", phone_as_typed="0123"))
    assert "Please read the telephone number back" in html
    assert register(signed_in(desk), phone="0123", phone_as_typed="0123").status_code == 302
    assert Patient.objects.get().phone == "0123"


def test_number_that_was_called_right_is_not_asked_about_with_the_duplicates(signed_in, desk):
    make_patient(desk, "Jose Alvarez", birth_date=date(1971, 3, 2))
    html = page(register(signed_in(desk), phone="0123"))
    assert "another_person" not in html, "one question at a time"
    html = page(register(signed_in(desk), phone="0123", phone_as_typed="0123"))
    assert value_of(html, "phone_as_typed") == "0123"
    confirmed = re.search(r'name="another_person" value="([^"]*)"', html)[1]
    answers = {"phone_as_typed": "0123", "another_person": confirmed}
    assert register(signed_in(desk), phone="0123", **answers).status_code == 302


def test_number_on_record_is_not_asked_about_again(signed_in, desk, patient):
    url, client = reverse("patient-edit", args=[patient.pk]), signed_in(desk)
    same = TYPED | {"phone": "0123"}
    assert "read the telephone number back" in page(client.post(url, same))
    assert client.post(url, same | {"phone_as_typed": "0123"}).status_code == 302
    assert client.post(url, same | {"weight_g": "70"}).status_code == 302


def test_likely_duplicate_is_shown_before_saving(signed_in, desk):
    known = make_patient(desk, "Jose Alvarez", birth_date=date(1971, 3, 2))
    html = page(register(signed_in(desk)))
    assert Patient.objects.count() == 1
    link = re.search(rf'<a href="{reverse("patient-detail", args=[known.pk])}"[^>]*>', html)[0]
    assert 'target="_blank" rel="noopener"' in link, "what is typed stays in its own tab"
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


def test_marks_that_turn_or_hide_a_name_are_not_kept(signed_in, desk):
    register(signed_in(desk), full_name="\u202eAnn\x07  Lee", known_as="\u2066Annie\u2069")
    patient = Patient.objects.get()
    assert (patient.full_name, patient.known_as) == ("Ann Lee", "Annie")

"""Two people have the details of one patient open; what each typed is kept, or asked about."""

import re
from html import unescape

import pytest
from django.urls import reverse

from records.patients.models import Patient
from tests.records.patients.pages import errors_in, page

pytestmark = pytest.mark.django_db


@pytest.fixture
def open_form(client, desk, patient):
    """Fetches the form, and gives what a browser would send of it."""
    client.force_login(desk)
    Patient.objects.update(phone="020 7946 0111")

    def fields() -> dict[str, str]:
        return sent_by(page(client.get(reverse("patient-edit", args=[patient.pk]))))

    return fields


def sent_by(html: str) -> dict[str, str]:
    form = html[html.index('<form class="form"') :]
    sent = {}
    for tag in re.findall(r"<input[^>]*>", form):
        name, value = (re.search(rf'{what}="([^"]*)"', tag) for what in ("name", "value"))
        if name and ('type="radio"' not in tag or "checked" in tag):
            sent[name[1]] = unescape(value[1]) if value else ""
    for name, text in re.findall(
        r'<textarea name="(\w+)"[^>]*>\s?(.*?)</textarea>', form, re.DOTALL
    ):
        sent[name] = unescape(text)
    return sent


@pytest.fixture
def send(client, patient):
    def post(fields: dict[str, str], **typed: str):
        return client.post(reverse("patient-edit", args=[patient.pk]), fields | typed)

    return post


def test_what_was_changed_in_another_field_stays(open_form, send, patient):
    first, second = open_form(), open_form()
    assert send(first, phone="020 7946 0123", weight_g="71").status_code == 302
    assert send(second, address="2 Example Lane").status_code == 302
    stored = Patient.objects.get()
    assert (stored.phone, stored.weight_g) == ("020 7946 0123", 71_000)
    assert stored.address == "2 Example Lane"


def test_where_both_changed_the_same_the_second_is_asked_and_may_insist(open_form, send, patient):
    first, second = open_form(), open_form()
    send(first, weight_g="71")
    answer = send(second, weight_g="72", known_as="Annie")
    assert answer.status_code == 200
    assert errors_in(unescape(page(answer))) == [
        "Somebody changed this from nothing to “71” while the page was open. Nothing is saved yet: "
        "correct it, or save again and yours holds."
    ]
    assert (Patient.objects.get().weight_g, Patient.objects.get().known_as) == (71_000, "")
    again = sent_by(page(answer))
    assert (again["weight_g"], again["known_as"]) == ("72", "Annie")
    assert send(again).status_code == 302
    assert (Patient.objects.get().weight_g, Patient.objects.get().known_as) == (72_000, "Annie")


def test_a_choice_is_named_as_the_page_names_it(open_form, send, patient):
    first, second = open_form(), open_form()
    send(first, sex="female")
    assert "from “Not stated” to “Female”" in unescape(page(send(second, sex="male")))


def test_both_may_type_the_same(open_form, send, patient):
    first, second = open_form(), open_form()
    send(first, weight_g="71")
    assert send(second, weight_g="71.0", known_as="Annie").status_code == 302
    assert (Patient.objects.get().weight_g, Patient.objects.get().known_as) == (71_000, "Annie")

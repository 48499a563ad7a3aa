"""A form that is sent after the sign-in has ended: what was typed comes back, passwords do not."""

import pytest
from django.test import Client
from django.test.html import parse_html
from django.urls import reverse

from records.patients.models import Patient
from tests.factories import PASSWORD

NEW, OWN, SIGN_IN, SIGN_OUT = map(
    reverse, ["patient-create", "staff-password", "staff-login", "staff-logout"]
)
TYPED = {
    "full_name": 'Zoë "Zed" <Ng>', "birth_date": "17.05.1980", "sex": "female", "email": "",
    "phone": "020 7946 0000", "preferred_channel": "phone", "none_known": "on",
    "alerts-TOTAL_FORMS": "0", "alerts-INITIAL_FORMS": "0", "csrfmiddlewaretoken": "stale",
}  # fmt: skip


def hidden_fields(html: str) -> dict[str, str]:
    """The page's hidden fields, read by Django's own test parser."""

    def walk(element):
        if getattr(element, "name", "") == "input":
            yield dict(element.attributes)
        for child in getattr(element, "children", ()):
            yield from walk(child)

    inputs = [found for found in walk(parse_html(html)) if found.get("type") == "hidden"]
    return {found["name"]: found.get("value", "") for found in inputs}


def test_what_was_typed_waits_and_is_sent_again_after_signing_in(desk):
    client = Client()
    refused = client.post(NEW, TYPED)
    assert refused.status_code == 401
    assert Patient.objects.count() == 0
    html = refused.content.decode()
    assert f'action="{NEW}"' in html
    assert "Zoë &quot;Zed&quot; &lt;Ng&gt;" in html
    waiting = hidden_fields(html)
    waiting.pop("csrfmiddlewaretoken", None)
    assert waiting == {k: v for k, v in TYPED.items() if k != "csrfmiddlewaretoken"}
    client.force_login(desk)
    assert client.post(NEW, waiting).status_code == 302
    assert Patient.objects.get().full_name == TYPED["full_name"]


def test_a_choice_made_twice_waits_twice(db):
    html = Client().post(NEW, {"roles": ["injector", "owner"]}).content.decode()
    assert html.count('name="roles"') == 2


@pytest.mark.parametrize("name", ["old_password", "new_password1", "password"])
def test_a_password_is_never_sent_back(db, name):
    answer = Client().post(OWN, {name: PASSWORD, "other": "text"})
    assert answer.headers["Location"] == f"{SIGN_IN}?next={OWN}"


def test_a_button_without_fields_is_asked_for_again_too(db):
    """Signing in would otherwise lead to an address that only takes a press of its button."""
    address = reverse("appointment-arrived", kwargs={"pk": 1})
    answer = Client().post(address, {"next": "/"})
    assert (answer.status_code, f'action="{address}"' in answer.content.decode()) == (401, True)


def test_signing_out_twice_leads_to_signing_in(db):
    assert Client().post(SIGN_OUT).headers["Location"] == SIGN_IN

"""A form whose token is out of date: what was typed waits on the answer, for its own page alone."""

import pytest
from django.test import Client
from django.urls import reverse

from records.patients.models import Patient
from tests.clinic.access.test_signed_out import NEW, OWN, TYPED, hidden_fields
from tests.factories import PASSWORD

SITE = "http://testserver"


@pytest.fixture
def strict(desk):
    """The front desk in a browser whose forms need their token."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(desk)
    return client


def test_what_was_typed_waits_and_is_sent_again_with_a_new_token(strict):
    refused = strict.post(NEW, TYPED, headers={"origin": SITE})
    assert refused.status_code == 403
    assert Patient.objects.count() == 0
    waiting = hidden_fields(refused.content.decode())
    token = waiting.pop("csrfmiddlewaretoken")
    assert waiting == {k: v for k, v in TYPED.items() if k != "csrfmiddlewaretoken"}
    again = strict.post(NEW, waiting | {"csrfmiddlewaretoken": token}, headers={"origin": SITE})
    assert again.status_code == 302
    assert Patient.objects.get().full_name == TYPED["full_name"]


@pytest.mark.parametrize("origin", ["https://else.test", "null", "http://testserver.else.test", ""])
def test_another_site_s_form_is_not_offered_to_be_sent(strict, origin):
    """Source: the browser names the sending site, WHATWG Fetch Standard, `Origin` header."""
    headers = {"origin": origin} if origin else {}
    refused = strict.post(NEW, TYPED, headers=headers)
    assert refused.status_code == 403
    html = refused.content.decode()
    # No letters of a form token alone, which may spell anything.
    assert "Zoë" not in html
    assert "Send it again" not in html
    assert "reload the page" in html


@pytest.mark.parametrize("url", [OWN, reverse("staff-login")])
def test_a_password_is_never_sent_back(strict, url):
    refused = strict.post(url, {"password": PASSWORD, "x": "text"}, headers={"origin": SITE})
    assert refused.status_code == 403
    assert PASSWORD not in refused.content.decode()
    assert "Send it again" not in refused.content.decode()

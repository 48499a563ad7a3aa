"""Setting a code over the wire."""

import json

import pytest
from django.test import Client

from clinic.tablets.models import ITERATIONS, UnlockCode
from tests.factories import PASSWORD

SENT = {
    "device": "00000000-0000-4000-8000-000000000001",
    "salt": "00" * 16,
    "key": "11" * 32,
    "iterations": ITERATIONS,
    "password": PASSWORD,
}


def post(client, body, url="/tablets/code/"):
    wanted = {"accept": "application/json"}
    return client.post(url, body, content_type="application/json", headers=wanted)


def test_a_code_is_kept_for_whoever_is_signed_in(signed_in, injector):
    answer = post(signed_in(injector), json.dumps(SENT))
    assert answer.json() == {"set": True}
    assert answer["Cache-Control"] == "no-store"
    assert str(UnlockCode.objects.get(user=injector).device) == SENT["device"]


@pytest.mark.parametrize(
    "body",
    [
        b"", b"[]", b"{", b"\xff", b"null", b'"x"', b"NaN", b"[" * 100_000, b"1" * 5_000,
        json.dumps(SENT | {"password": "\ud800"}),
        json.dumps(SENT | {"password": "x" * 3_000_000}),
        json.dumps(SENT | {"iterations": [ITERATIONS]}),
        json.dumps(SENT | {"device": "7"}),
        json.dumps(SENT | {"device": 7}),
        json.dumps(SENT | {"salt": None}),
        json.dumps({name: SENT[name] for name in SENT if name != "key"}),
    ],
)  # fmt: skip
def test_what_is_not_a_code_is_answered_with_what_to_do(signed_in, injector, body):
    answer = post(signed_in(injector), body)
    assert answer.status_code == 422
    assert "set it again" in answer.json()["message"]


def test_a_wrong_password_is_said(signed_in, injector):
    answer = post(signed_in(injector), json.dumps(SENT | {"password": "wrong"}))
    assert answer.status_code == 422
    assert answer.json()["message"].startswith("This is not your password")
    assert not UnlockCode.objects.exists()


@pytest.mark.parametrize("url", ["/tablets/code/", "/tablets/unlock/"])
def test_a_form_instead_of_json_is_422(injector, url):
    """Checking the token reads a form, and a body cannot be read twice."""
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(injector)
    strict.get("/charting/")
    token = {"x-csrftoken": strict.cookies["csrftoken"].value}
    assert strict.post(url, {"password": PASSWORD}, headers=token).status_code == 422


def test_signed_out_is_said_without_a_page(client, db):
    assert post(client, json.dumps(SENT)).status_code == 401


def test_a_sign_in_has_a_name_that_changes_with_it(signed_in, injector):
    client = signed_in(injector)
    first = client.get("/tablets/session/").json()
    assert first == client.get("/tablets/session/").json()
    assert first["user"] == injector.pk
    assert client.session.session_key not in str(first)
    client.logout()
    again = signed_in(injector).get("/tablets/session/").json()
    assert again["user"] == first["user"]
    assert again["session"] != first["session"]


@pytest.mark.parametrize(
    ("body", "status"),
    [
        (json.dumps({"password": PASSWORD}), 200),
        (json.dumps({"password": "wrong"}), 422),
        (json.dumps({"password": None}), 422),
        (json.dumps({}), 422),
        (b"[", 422),
        (b"[" * 100_000, 422),
        (json.dumps({"password": "\ud800"}), 422),
    ],
)
def test_the_password_opens_a_tablet(signed_in, injector, body, status):
    answer = post(signed_in(injector), body, url="/tablets/unlock/")
    assert answer.status_code == status
    assert answer.json() == {"right": True} if status == 200 else answer.json()["message"]

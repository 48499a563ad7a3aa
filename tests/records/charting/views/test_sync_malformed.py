"""What no tablet of ours sends: answered with a sentence, never with an error of the server's."""

import json
import uuid

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from records.charting.enums import Kind
from tests.records.charting.tablet import point_data, stamp

JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=12,
)
FIELDS = [
    "key", "unit", "view", "x_dmm", "y_dmm", "reach_x_dmm", "picture", "region", "side", "amount",
    "patient", "appointment", "jaw", "note", "pupil_dmm", "diluent_ul", "reason", "remainders",
    "proof", "seen", "operation", "x1", "distance_dmm", "text", "point", "marking", "gauge",
]  # fmt: skip
ODD = (
    JSON
    | st.sampled_from([-1, 0, 1, 2**31, 2**63, 10**40, "", "\x00", "1e9", "true", "front", "bolus"])
    | st.uuids().map(str)
)


@pytest.mark.parametrize(
    ("body", "sentence"),
    [
        ("", "not JSON"),
        ("{", "not JSON"),
        (b"\xff\xfe", "not JSON"),
        ("NaN", "not JSON"),
        ("[" * 100_000, "not JSON"),
        ('{"device": "\\ud800"}', "not JSON"),
        ("1" * 5_000, "not JSON"),
        ("[]", "not a JSON object"),
        ("{}", "operations"),
    ],
)
def test_what_is_no_request_is_400_with_a_sentence(tablet, body, sentence):
    answer = tablet.post(body)
    assert answer.status_code == 400
    assert sentence in answer.json()["message"]


def test_a_form_instead_of_json_is_400(injector):
    """Checking the token reads a form, and a body cannot be read twice."""
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(injector)
    strict.get(reverse("charting"))
    token = {"x-csrftoken": strict.cookies["csrftoken"].value}
    answer = strict.post(reverse("charting-sync"), {"operations": "[]"}, headers=token)
    assert answer.status_code == 400
    assert "not JSON" in answer.json()["message"]


@pytest.mark.parametrize("method", ["get", "put", "patch", "delete"])
def test_only_post_is_taken(tablet, method):
    assert getattr(tablet.client, method)(reverse("charting-sync")).status_code == 405


@pytest.mark.parametrize("remainders", ["[" * 100_000, "{}", [1], 5, True])
def test_remainders_that_are_no_object_are_refused(tablet, session, remainders):
    data = {"remainders": remainders, "proof": "00", "seen": ""}
    result = tablet.only(tablet.op("sign", session, data))
    assert result["outcome"] == "refused"
    assert "remainders" in result["message"]


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("device", "tablet"),
        ("device", None),
        ("sent_at", "noon"),
        ("sent_at", "2026-11-25T10:00:00"),
        ("sent_at", "9999-12-31T23:59:59Z"),
        ("operations", None),
        ("operations", [{}] * 51),
        ("operations", ["log"]),
        ("sessions", ["x"]),
        ("sessions", {}),
    ],
)
def test_wrong_frame_is_400(tablet, name, value):
    body = {"device": str(uuid.uuid4()), "sent_at": stamp(timezone.now()), "operations": []}
    answer = tablet.post(body | {name: value})
    assert answer.status_code == 400
    assert answer.json()["message"]


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("id", "1"), ("session", None), ("kind", 5), ("base", "x"), ("made_at", 5),
        ("instead_of", "x"), ("sequence", -1), ("sequence", True), ("sequence", 2**63),
        ("author", "me"), ("data", []),
    ],
)  # fmt: skip
def test_wrong_frame_of_an_operation_is_400(tablet, session, units, name, value):
    op = tablet.op("log", session, point_data(units[0])) | {name: value}
    body = {"device": str(uuid.uuid4()), "sent_at": stamp(timezone.now()), "operations": [op]}
    assert tablet.post(body).status_code == 400


def test_kind_of_a_newer_page_is_refused_with_what_to_do(tablet, session):
    result = tablet.only(tablet.op("juggle", session, {}))
    assert result["outcome"] == "refused"
    assert "Load the page anew" in result["message"]


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(
    kind=st.sampled_from([kind.value for kind in Kind]),
    values=st.dictionaries(st.sampled_from(FIELDS), ODD, max_size=8),
    whole=st.booleans(),
)
def test_junk_in_the_data_never_breaks_the_server(tablet, session, units, kind, values, whole):
    data = (point_data(units[0]) | values) if whole else values
    op = tablet.op(kind, session, data)
    body = {"device": str(uuid.uuid4()), "sent_at": stamp(timezone.now()), "operations": [op]}
    answer = tablet.post(json.dumps(body))
    assert answer.status_code in {200, 400}
    if answer.status_code == 200:
        (result,) = answer.json()["results"]
        assert result["outcome"] == "applied" or result["message"]


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(body=JSON)
def test_junk_as_a_request_is_400(tablet, body):
    answer = tablet.post(json.dumps(body))
    assert answer.status_code == 400
    assert answer.json()["message"]

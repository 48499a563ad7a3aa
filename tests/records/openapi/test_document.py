"""The description is OpenAPI, is complete, and says what the forms say."""

import inspect

import pytest
import schemathesis
from django import forms
from django.http import JsonResponse
from django.urls import reverse

from planning.vocabulary import Plane
from records.charting.enums import Kind
from records.openapi.addresses import ADDRESSES
from records.openapi.document import document
from records.openapi.schemas import of_form
from tests.samples import ROUTES


def test_the_document_is_openapi():
    """By the schema of the OpenAPI Initiative for version 3.1, as schemathesis carries it."""
    schemathesis.openapi.from_dict(document()).validate()


def test_every_view_that_answers_json_alone_is_described():
    answers_json = {
        route.name
        for route in ROUTES
        if inspect.signature(inspect.unwrap(route.callback)).return_annotation is JsonResponse
    }
    assert len(answers_json) > 5
    assert answers_json - {address.route for address in ADDRESSES} == {"openapi-document"}


def test_each_act_of_the_tablet_has_its_own_data():
    body = document()["paths"]["/charting/sync/"]["post"]["requestBody"]
    operations = body["content"]["application/json"]["schema"]["properties"]["operations"]
    acts = {one["properties"]["kind"]["const"]: one for one in operations["items"]["oneOf"]}
    assert acts.keys() == {kind.value for kind in Kind}
    data = acts["log"]["properties"]["data"]
    assert data["properties"]["plane"]["enum"] == [plane.value for plane in Plane]
    assert {"unit", "plane", "amount", "x_dmm"} <= set(data["required"])
    assert "reach_x_dmm" not in data["required"]


@pytest.mark.parametrize(
    ("field", "schema"),
    [
        (forms.UUIDField(), {"type": "string", "format": "uuid"}),
        (
            forms.IntegerField(min_value=-2, max_value=9),
            {"type": "integer", "minimum": -2, "maximum": 9},
        ),
        (forms.IntegerField(), {"type": "integer"}),
        (forms.CharField(max_length=5), {"type": "string", "maxLength": 5}),
        (forms.BooleanField(), {"type": "boolean"}),
        (forms.ChoiceField(choices=[("", "-"), ("a", "A")]), {"type": "string", "enum": ["a"]}),
        (forms.DateTimeField(), {"type": "string", "format": "date-time"}),
    ],
)
def test_a_field_says_what_it_takes(field, schema):
    """JSON Schema 2020-12: the words of its validation vocabulary."""
    form = type("One", (forms.Form,), {"one": field})
    assert of_form(form) == {"type": "object", "properties": {"one": schema}, "required": ["one"]}
    field.required = False
    form = type("One", (forms.Form,), {"one": field})
    assert of_form(form)["properties"]["one"] == {"anyOf": [schema, {"type": "null"}]}
    assert of_form(form)["required"] == []


@pytest.mark.django_db
def test_the_owner_reads_it(signed_in, owner):
    answer = signed_in(owner).get(reverse("openapi-document"))
    assert answer.json() == document()

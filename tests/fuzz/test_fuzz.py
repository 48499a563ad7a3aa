"""The short run; `make fuzz` sends a hundred thousand inputs."""

import pytest
from django.http import HttpResponse, HttpResponseServerError

from tests.fuzz.answers import problem_of
from tests.fuzz.forms import forms_of
from tests.fuzz.run import run

PAGE = """<!doctype html><form method="post" action="/save/?tab=two">
<input type="hidden" name="csrfmiddlewaretoken" value="x">
<input name="day" type="date" value="2026-12-01">
<input type="radio" name="side" value="left"><input type="radio" name="side" value="right">
<select name="plane"><option value="">-<option value="deep">Deep</select>
<button name="go">Go</button></form>
<div hx-get="/part/?of=1"></div>"""

# Long ones, of each role.
PAGES = (
    "patient-create", "appointment-create", "policy-edit", "photograph-detail", "follow-up",
)  # fmt: skip


@pytest.mark.django_db
def test_nothing_that_is_sent_is_an_error():
    report = run(seed=1, inputs=200, names=PAGES)
    assert report.problems == {}
    assert report.statuses[200] > 40
    assert report.statuses[422] > 20
    assert len(report.places) > 30


def test_the_forms_of_a_page_are_found():
    form, part = forms_of("/here/", PAGE)
    assert (form.method, form.address) == ("post", "/save/")
    assert {field.name: field.values for field in form.fields} == {
        "day": ("2026-12-01",),
        "side": ("left", "right"),
        "plane": ("", "deep"),
        "tab": ("two",),
    }
    assert (part.method, part.address) == ("get", "/part/")


@pytest.mark.parametrize(
    ("answer", "problem"),
    [
        (HttpResponseServerError("Sorry"), "a server error"),
        (HttpResponse("UNIQUE constraint failed: x.y"), "says 'UNIQUE constraint'"),
        (HttpResponse("Type a whole number."), ""),
    ],
)
def test_what_is_wrong_with_an_answer_is_said(answer, problem):
    """The check itself."""
    assert problem_of(answer) == problem

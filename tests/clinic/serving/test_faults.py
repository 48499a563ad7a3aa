"""Pages for what went wrong: a number to quote, what to do, and nothing of the machine."""

import re
from types import ModuleType

import pytest
from django.db import InterfaceError, OperationalError
from django.test import Client
from django.urls import path

from clinic import urls
from clinic.access.rules import public

NUMBER = re.compile(r"[0-9a-f]{12}")
INSIDE = re.compile(r"Traceback|\.py\b|Error\b|Exception|Zenobia")


@pytest.fixture
def outsider():
    return Client(raise_request_exception=False)


@pytest.fixture
def failing(settings):
    """The tool with one page, /fail/, that raises what is given."""

    def fail(error: Exception) -> None:
        @public
        def view(request):
            raise error

        pages = ModuleType("pages_of_a_test")
        pages.urlpatterns = [path("fail/", view)]
        pages.handler400, pages.handler500 = urls.handler400, urls.handler500
        settings.ROOT_URLCONF = pages

    return fail


def check(answer, status: int, words: str) -> None:
    page = answer.content.decode()
    assert answer.status_code == status
    assert words in page
    assert answer["X-Request-ID"] in page
    assert NUMBER.fullmatch(answer["X-Request-ID"])
    assert not INSIDE.search(page)
    assert "not known" not in page


def test_a_fault_of_ours(outsider, failing):
    failing(ValueError("Zenobia Unmistakable"))
    check(outsider.get("/fail/"), 500, "Something went wrong here")


@pytest.mark.parametrize("error", [OperationalError("gone"), InterfaceError("closed")])
def test_a_database_that_is_away(outsider, failing, error):
    failing(error)
    answer = outsider.get("/fail/")
    check(answer, 503, "The record cannot be reached at the moment")
    assert answer["Retry-After"] == "10"


def test_an_error_that_a_database_led_to(outsider, failing):
    error = RuntimeError("Zenobia")
    error.__cause__ = OperationalError("gone")
    failing(error)
    assert outsider.get("/fail/").status_code == 503


def test_a_script_is_told_in_json(outsider, failing):
    failing(OperationalError("Zenobia"))
    answer = outsider.get("/fail/", headers={"accept": "application/json"})
    assert answer.status_code == 503
    assert answer.json() == {
        "message": "The record cannot be reached at the moment. Nothing of this request is stored.",
        "number": answer["X-Request-ID"],
    }


def test_what_is_no_request_of_ours(outsider):
    check(outsider.get("/health/", headers={"host": "elsewhere.example"}), 400, "could not be read")


@pytest.mark.django_db
def test_more_than_is_taken(outsider, settings):
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 100
    form = "application/x-www-form-urlencoded"
    sent = outsider.post("/staff/sign-in/", "username=" + "x" * 200_000, content_type=form)
    check(sent, 413, "That was too large")
    # Else the application server hangs up while a proxy still sends, which is a fault to the proxy.
    assert sent.wsgi_request.read() == b""


@pytest.mark.django_db
def test_nothing_there(outsider, owner):
    outsider.force_login(owner)
    check(outsider.get("/patients/987654321/"), 404, "There is nothing at this address")


@pytest.mark.django_db
def test_not_for_this_role(outsider, desk):
    outsider.force_login(desk)
    check(outsider.get("/staff/"), 403, "This page is not for your role")

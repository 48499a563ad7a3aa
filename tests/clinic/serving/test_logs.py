"""
What a clinic in production writes into its log while people go through its pages: by which route,
by whom (a number), how it ended; no word of a patient, no address.
"""

import io
import json
import logging
import re

import pytest
from django.conf import settings
from django.test import Client

from clinic.access.enums import Role
from clinic.serving.logs import JsonLines
from tests.access_table import TABLE
from tests.samples import address, make_people, make_samples

NAME = "Zenobia Unmistakable-Featherstone"
WORDS = re.compile(r"zenobia|unmistakable|featherstone", re.IGNORECASE)
# Those that hold a patient's number or search; each further route is logged by the same lines.
OF_PATIENTS = sorted(name for name, rule in TABLE.items() if "patient.pk" in rule.args.values())


@pytest.fixture
def log():
    """As LOGGING has it in production: everything to one place, requests from INFO on."""
    stream = io.StringIO()
    handler = logging.StreamHandler(stream)
    handler.setFormatter(JsonLines())
    requests = logging.getLogger("clinic.requests")
    logging.getLogger().addHandler(handler)
    requests.setLevel(logging.INFO)
    yield lambda: [json.loads(line) for line in stream.getvalue().splitlines()]
    requests.setLevel(logging.WARNING)
    logging.getLogger().removeHandler(handler)


@pytest.mark.django_db
def test_a_day_in_the_log_names_no_patient_and_no_address(log):
    people = make_people()
    samples = make_samples(people, patient_name=NAME)
    client = Client(raise_request_exception=False)
    person = people[Role.INJECTOR]
    client.force_login(person)
    opened = [address(name, samples) for name in OF_PATIENTS]
    opened += ["/", f"/search/?q={NAME}", "/patients/?q=zenobia", "/patients/987654/", "/staff/"]
    for url in opened:
        client.get(url)
    client.post("/patients/new/", {"full_name": NAME, "birth_date": "no date"})
    client.put(f"/patients/{samples['patient'].pk}/")

    lines = log()
    told = [line for line in lines if line["logger"] == "clinic.requests"]
    assert len(told) == len(opened) + 2 > 20
    text = json.dumps(lines)
    assert not WORDS.search(text)
    assert samples["patient"].record_number not in text
    assert not re.search(r"/(patients|search|staff)/", text)
    assert {line["person"] for line in told} == {person.pk}
    assert {"patient-detail", "search", "staff-list", "today"} <= {line["route"] for line in told}
    assert {200, 403, 404, 405} <= {line["status"] for line in told}


@pytest.mark.django_db
def test_whatever_is_said_while_answering_carries_the_request_s_number(log):
    answer = Client(raise_request_exception=False).get("/patients/no-such-page/?q=Zenobia")
    lines = log()
    assert {line["logger"] for line in lines} == {"clinic.requests", "django.request"}
    assert {line["request"] for line in lines} == {answer["X-Request-ID"]}
    (said,) = (line for line in lines if line["logger"] == "django.request")
    assert said["text"] == "Not Found: (address)"


@pytest.mark.django_db
def test_each_request_has_a_number_of_our_own(log):
    claimed = Client(headers={"x-request-id": "Zenobia"})
    numbers = {claimed.get("/health/")["X-Request-ID"] for _ in range(3)}
    assert len(numbers) == 3
    assert "Zenobia" not in numbers


def formatted(text: str, *args: object, error: BaseException | None = None, **more) -> dict:
    told = (type(error), error, error.__traceback__) if error else None
    record = logging.LogRecord("some.part", logging.ERROR, __file__, 1, text, args, told)
    vars(record).update(more)
    line = JsonLines().format(record)
    assert "\n" not in line, "one line each, whatever was said"
    return json.loads(line)


def test_an_error_is_told_without_its_message():
    try:
        raise ValueError("Zenobia")
    except ValueError as error:
        line = formatted("Error handling request %s", "/patients/12/?q=Zenobia", error=error)
    assert line["text"] == "Error handling request (address)"
    assert "ValueError (message withheld" in line["error"]
    assert "Zenobia" not in json.dumps(line)
    assert line["time"].endswith("+00:00")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("Forbidden (no cookie): /patients/12/", "Forbidden (no cookie): (address)"),
        ('"GET /reminders/answer/secret/ HTTP/1.1" 404', '"GET (address) HTTP/1.1" 404'),
        ("first line\nsecond {\"level\": \"info\"}", "first line\nsecond {\"level\": \"info\"}"),
        ("half a/b is kept", "half a/b is kept"),
    ],
)  # fmt: skip
def test_addresses_are_withheld_and_lines_stay_whole(text, told):
    assert formatted(text)["text"] == told


def test_it_is_the_first_to_see_a_request():
    assert settings.MIDDLEWARE[0] == "clinic.serving.middleware.RequestMiddleware"

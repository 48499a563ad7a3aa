"""The addresses of scripts, by their OpenAPI description and schemathesis."""

from typing import Any

import schemathesis
from django.core.wsgi import get_wsgi_application
from django.test import Client
from hypothesis import strategies as st
from schemathesis.checks import not_a_server_error
from schemathesis.core.failures import FailureGroup
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from records.openapi.document import document
from tests.fuzz.answers import leak_in
from tests.fuzz.drawn import for_each
from tests.fuzz.report import Report
from tests.fuzz.sending import taken_back

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]

# No worker runs beside a fuzz, and readiness says so. Anywhere else nobody is in the way, so that
# "busy" would be an input that the database stumbles over.
TELLS_BY_503 = "/ready/"
UNKNOWN_KEY = "00000000-0000-4000-8000-00000000f022"


def fuzz_scripts(report: Report, *, user, samples: dict, inputs: int) -> None:
    """Share `inputs` among the addresses; half of what names something names what is there."""
    schema = schemathesis.openapi.from_dict(document())
    schema.app = get_wsgi_application()
    as_person = _signed_in(user)
    known = _known(samples)
    operations = [found.ok() for found in schema.get_all_operations()]
    for operation in operations:
        _fuzz(report, operation, as_person, known, inputs // len(operations))


def _fuzz(report: Report, operation, as_person: dict, known: dict, inputs: int) -> None:
    place = f"{operation.method} {operation.path}"

    def send(case, randoms) -> None:
        if isinstance(case.body, dict):
            case.body = _with_known(case.body, known, randoms)
        if isinstance(case.path_parameters, dict) and randoms.random() < 0.7:
            case.path_parameters = _with_known(case.path_parameters, known, randoms)
        with taken_back():
            answer = case.call(**as_person)
        report.note(answer.status_code, place, _problem(case, answer), case.body)

    randoms = st.randoms(use_true_random=False)
    for_each(send, inputs=inputs, seeded=report.seed, case=operation.as_strategy(), randoms=randoms)


def _problem(case, answer) -> str:
    if leak := leak_in(answer.content):
        return leak
    is_told = case.path == TELLS_BY_503 and answer.status_code == 503
    checks = [check for check in CHECKS if not (is_told and check is not_a_server_error)]
    try:
        case.validate_response(answer, checks=checks)
    except FailureGroup as group:
        return "; ".join(sorted(type(error).__name__ for error in group.exceptions))
    return ""


def _signed_in(user) -> dict[str, dict[str, str]]:
    client = Client(headers={"host": "localhost"})
    client.force_login(user)
    token = client.get("/charting/").cookies["csrftoken"].value
    return {
        "headers": {"X-CSRFToken": token, "Host": "localhost", "Accept": "application/json"},
        "cookies": {name: one.value for name, one in client.cookies.items()},
    }


def _known(samples: dict) -> dict[str, list[Any]]:
    """By name of a value, what stands in the clinic."""
    session, signed = samples["session"], samples["signed"]
    return {
        "session": [str(session.key), str(signed.key)],
        "key": [str(samples["picture"].key), str(samples["photograph"].key), UNKNOWN_KEY],
        "pk": [samples["patient"].pk],
        "patient": [samples["patient"].pk, samples["newcomer"].pk],
        "author": [session.injector_id],
        "unit": [samples["unit"].pk],
        "occlusion": [str(samples["occlusion"].key)],
        "appointment": [samples["appointment"].pk],
    }


def _with_known(value: Any, known: dict[str, list[Any]], randoms) -> Any:
    """`value` with half of its names pointing at what is there."""
    if isinstance(value, list):
        return [_with_known(one, known, randoms) for one in value]
    if not isinstance(value, dict):
        return value
    return {
        name: randoms.choice(known[name])
        if name in known and randoms.random() < 0.5
        else _with_known(one, known, randoms)
        for name, one in value.items()
    }

"""The description itself: OpenAPI 3.1.0, https://spec.openapis.org/oas/v3.1.0."""

from typing import Any

from django.conf import settings
from django.urls import get_resolver

from records.openapi.addresses import ADDRESSES, Address, Answer
from records.openapi.schemas import KEY, TEXT, Schema, whole

LARGEST_KEY = 2**63 - 1
_BY_CONVERTER: dict[str, Schema] = {
    "IntConverter": whole(1, LARGEST_KEY),
    "UUIDConverter": KEY,
    "SlugConverter": TEXT | {"pattern": "^[-a-zA-Z0-9_]+$"},
}
_SIGNED_OUT = Answer("Nobody is signed in.")
_CLOSED = Answer("Closed to this person, or the token is out of date.", {"text/html": TEXT})


def document() -> dict[str, Any]:
    """All addresses that answer scripts, as one JSON object."""
    paths: dict[str, dict[str, Any]] = {}
    for address in ADDRESSES:
        template, parameters = _place(address.route)
        of_path = paths.setdefault(template, {"parameters": parameters} if parameters else {})
        of_path[address.method] = _operation(address)
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Clinic record",
            "version": "1",
            "description": "What the clinic's tablets and pages ask by script. A session "
            "cookie says who asks; what changes something carries the csrftoken cookie's token.",
        },
        "paths": paths,
        "components": {
            "securitySchemes": {
                "session": {"type": "apiKey", "in": "cookie", "name": settings.SESSION_COOKIE_NAME},
                "token": {"type": "apiKey", "in": "header", "name": "X-CSRFToken"},
            }
        },
    }


def _place(route: str) -> tuple[str, list[dict[str, Any]]]:
    """The address of a route as a template, and what its braces hold."""
    possibilities, _, _, converters = get_resolver().reverse_dict.getlist(route)[0]
    template, names = possibilities[0]
    parameters = [
        {
            "name": name,
            "in": "path",
            "required": True,
            "schema": _BY_CONVERTER[type(converters[name]).__name__],
        }
        for name in names
    ]
    return "/" + template % {name: f"{{{name}}}" for name in names}, parameters


def _operation(address: Address) -> dict[str, Any]:
    answers = dict(address.answers)
    if not address.is_public:
        answers |= {401: _SIGNED_OUT, 403: _CLOSED}
    needed: dict[str, list] = {"session": []} | ({"token": []} if address.method != "get" else {})
    told: dict[str, Any] = {
        "operationId": f"{address.route}-{address.method}",
        "summary": address.says,
        "security": [] if address.is_public else [needed],
        "responses": {str(status): _answer(answer) for status, answer in sorted(answers.items())},
    }
    if address.takes:
        media, schema = address.takes
        told["requestBody"] = {"required": True, "content": {media: {"schema": schema}}}
    return told


def _answer(answer: Answer) -> dict[str, Any]:
    content = {media: {"schema": schema} for media, schema in answer.body.items()}
    return {"description": answer.says} | ({"content": content} if content else {})

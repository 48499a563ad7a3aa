"""
Pages for what went wrong. They ask no database and no session, which may be what is broken, and
name the request's number, by which the log is searched.
"""

import sys

from django.core.exceptions import RequestDataTooBig
from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template import loader

from clinic.serving.asked import number_now

NOT_KNOWN = "not known"
"""Stands in the pages where the number goes: they hold no tag that could fail."""

RETRY_SECONDS = "10"
MESSAGES = {
    400: "The request could not be read.",
    413: "More was sent than is taken at once.",
    500: "Something went wrong here.",
    503: "The record cannot be reached at the moment. Nothing of this request is stored.",
}


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    return _answer(request, 413 if isinstance(exception, RequestDataTooBig) else 400)


def server_error(request: HttpRequest) -> HttpResponse:
    """Django calls this while it handles the error, so that it is known here."""
    if not _database_is_away(sys.exc_info()[1]):
        return _answer(request, 500)
    response = _answer(request, 503)
    response["Retry-After"] = RETRY_SECONDS
    return response


def _database_is_away(error: BaseException | None) -> bool:
    """It, or what led to it, is one of the errors that a database ends a conversation with."""
    while error is not None:
        if isinstance(error, OperationalError | InterfaceError):
            return True
        error = error.__cause__
    return False


def _answer(request: HttpRequest, status: int) -> HttpResponse:
    number = number_now() or NOT_KNOWN
    if request.headers.get("Accept", "").startswith("application/json"):
        return JsonResponse({"message": MESSAGES[status], "number": number}, status=status)
    page = loader.get_template(f"{status}.html").render()
    return HttpResponse(page.replace(NOT_KNOWN, number), status=status)

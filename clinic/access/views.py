"""The answer to a form whose token is missing or out of date."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from clinic.access.sent import typed_fields


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """
    Hold what was sent, to be sent again with a new token; only if a page of ours sent it.

    Another site's page could otherwise have its form sent by a person who presses the button. The
    browser names the sender: Origin stands on every POST (WHATWG Fetch Standard, "append a request
    Origin header").
    """
    own = f"{request.scheme}://{request.get_host()}"
    typed = typed_fields(request) if request.headers.get("Origin") == own else None
    return render(request, "403_csrf.html", {"typed": typed}, status=403)

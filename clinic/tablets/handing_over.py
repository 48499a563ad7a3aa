"""
A tablet in a patient's hands: it shows one page, and everything else of the clinic is closed until
whoever signed in gives the password.

    hand_over(request, page=reverse("..."), back=reverse("..."))
    return redirect(...)

What is open lies below `page`'s address. The state is in the session, so that no other tab of the
tablet shows more.
"""

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseForbidden
from django.shortcuts import redirect
from django.urls import reverse

MOST_TRIES = 5
_KEY = "handed_over"


def hand_over(request: HttpRequest, *, page: str, back: str) -> None:
    """From now on this sign-in opens `page` alone; `back` is where it goes on afterwards."""
    request.session[_KEY] = {"page": page, "back": back, "tries": 0}


def is_handed_over(request: HttpRequest) -> bool:
    return _KEY in request.session


def close_page(request: HttpRequest) -> None:
    """The patient is done: nothing is open any more but the page that takes the tablet back."""
    held = request.session.get(_KEY)
    if held:
        request.session[_KEY] = held | {"page": reverse("tablet-take-back")}


def open_page(request: HttpRequest) -> str:
    """The page that the patient may still go back to; empty once the patient is done."""
    page = str(request.session.get(_KEY, {}).get("page", ""))
    return "" if page == reverse("tablet-take-back") else page


def take_back(request: HttpRequest) -> str:
    """The clinic opens again; where it goes on."""
    return str(request.session.pop(_KEY, {}).get("back", "/"))


def tries_left(request: HttpRequest) -> int:
    """How often the password may still be wrong, after a wrong one."""
    held = request.session[_KEY]
    request.session[_KEY] = held | {"tries": held["tries"] + 1}
    return MOST_TRIES - held["tries"] - 1


class HandedOverMiddleware:
    """Leads every other address back to the page that is open; runs after the sign-in is known."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        # Without a cookie nobody signed in, and the answer need not vary by it: calendars ask so.
        if settings.SESSION_COOKIE_NAME not in request.COOKIES:
            return self.get_response(request)
        held = request.session.get(_KEY)
        if held is None or _is_open(request.path, held["page"]):
            return self.get_response(request)
        if request.headers.get("Sec-Fetch-Mode", "navigate") != "navigate":
            return HttpResponseForbidden()
        return redirect(held["page"])


def _is_open(path: str, page: str) -> bool:
    return path.startswith(page) or path == reverse("tablet-take-back")

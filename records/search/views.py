"""
The search above every page.

What is typed comes in the body of a POST and is kept in the session, as on the patients' page:
addresses are kept in logs.
"""

from typing import cast

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, EVERYONE, allow
from clinic.staff.models import User
from records.patients.forms import SearchForm
from records.patients.views import keep_search, kept_search
from records.search.queries import AT_A_GLANCE, ON_THE_PAGE, Found, find


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def search(request: HttpRequest) -> HttpResponse:
    """All that was found, also where no script runs."""
    if request.method == "POST":
        return keep_search(request)
    context = _answer(request, kept_search(request), "search-page-found", ON_THE_PAGE)
    return render(request, "search/page.html", context)


@allow(*EVERYONE)
@require_POST
def search_live(request: HttpRequest) -> HttpResponse:
    """The first hits for what is typed so far, for the place that asks."""
    typed = SearchForm(request.POST).typed
    on_page = request.headers.get("HX-Target") == "search-page-found"
    place, limit = ("search-page-found", ON_THE_PAGE) if on_page else ("search-found", AT_A_GLANCE)
    if not typed:
        return HttpResponse("")
    return render(request, "search/_found.html", _answer(request, typed, place, limit))


def _answer(request: HttpRequest, typed: str, place: str, limit: int) -> dict:
    """
    Context of search/_found.html.

    Args:
        place: id of the element that holds it; it makes the ids of two lists on one page differ.
    """
    roles = cast(User, request.user).roles
    sees_stock = not roles.isdisjoint(CLINICAL)
    found = (
        find(typed, limit=limit, sees_stock=sees_stock, is_owner=Role.OWNER in roles)
        if typed
        else None
    )
    return {
        "typed": typed,
        "found": found,
        "said": _said(found) if found else "",
        "place": place,
        "is_whole": limit == ON_THE_PAGE,
        "sees_stock": sees_stock,
    }


def _said(found: Found) -> str:
    """How many were found, as it is read aloud."""
    missed = found.visits.missed
    if not found.count:
        return f"{missed.words}." if missed else "Nothing found."
    if missed and found.patients.patients:
        return f"{missed.words}. {found.count} found."
    near = " Nobody is spelt so; these are nearly." if found.patients.near else ""
    if found.more:
        return f"The first {found.count} are shown.{near}"
    if found.count == 1:
        return f"1 found. Press Enter to open it.{near}"
    return f"{found.count} found.{near}"

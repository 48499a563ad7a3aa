"""Appointments in other calendars: a file of one, and a person's diary by its secret address."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotFound
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.cache import get_conditional_response
from django.utils.http import http_date, quote_etag
from django.views.decorators.debug import sensitive_variables
from django.views.decorators.http import require_POST, require_safe

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, EVERYONE, allow, public
from clinic.staff.models import User
from records.appointments.models import Appointment
from records.appointments.queries.day import practitioners
from records.calendars.queries import DAYS_AHEAD, DAYS_BACK, feed_of, people_with_feeds
from records.calendars.services.entries import FILE_NAME, appointment_file
from records.calendars.services.feeds import Reading, make_feed, read_feed, revoke_feed

CALENDAR = "text/calendar; charset=utf-8"


@allow(*CLINICAL)
@require_safe
def calendar_list(request: HttpRequest) -> HttpResponse:
    """Whose diary can be read elsewhere: everybody's for the owner, else one's own."""
    person: User = request.user  # type: ignore[assignment]
    people = people_with_feeds(only=None if Role.OWNER in person.roles else person)
    return render(request, "calendars/list.html", _page(people=people))


@allow(*CLINICAL)
@require_POST
@sensitive_variables()
def calendar_make(request: HttpRequest, pk: int) -> HttpResponse:
    """
    A new address, shown once: the answer itself holds it, as it is kept nowhere to come back to.
    """
    person = _person_or_404(request, pk)
    secret = make_feed(person=person, actor=request.user)
    address = request.build_absolute_uri(reverse("calendar-feed", kwargs={"secret": secret}))
    return render(request, "calendars/made.html", _page(person=person, address=address))


@allow(*CLINICAL)
@require_POST
def calendar_revoke(request: HttpRequest, pk: int) -> HttpResponse:
    person = _person_or_404(request, pk)
    if revoke_feed(person=person, actor=request.user):
        messages.success(request, f"The calendar address of {person} is revoked.")
    return redirect("calendar-list")


def _person_or_404(request: HttpRequest, pk: int) -> User:
    """Oneself, or for the owner anybody who sees patients."""
    asking: User = request.user  # type: ignore[assignment]
    if pk != asking.pk and Role.OWNER not in asking.roles:
        raise Http404
    return get_object_or_404(practitioners(), pk=pk)


def _page(**context) -> dict:
    return {"days_back": DAYS_BACK, "days_ahead": DAYS_AHEAD, **context}


@public
@require_safe
@sensitive_variables()
def calendar_feed(request: HttpRequest, secret: str) -> HttpResponse:
    """A diary for whoever knows the secret; one that never was answers as one that is revoked."""
    feed = feed_of(secret)
    reading = read_feed(feed) if feed else None
    if reading is None:
        # Plain, because the page with the navigation would ask who is signed in.
        text = "There is no calendar at this address. Ask the clinic for a new one.\n"
        return HttpResponseNotFound(text, content_type="text/plain; charset=utf-8")
    return _answer(request, reading)


def _answer(request: HttpRequest, reading: Reading) -> HttpResponse:
    """The diary, or "not changed" to whoever holds this one already (RFC 9110, section 13)."""
    response = HttpResponse(reading.content, content_type=CALENDAR)
    since, etag = int(reading.since.timestamp()), quote_etag(reading.digest)
    response["ETag"], response["Last-Modified"] = etag, http_date(since)
    response["Cache-Control"] = "private, no-cache"
    response["Content-Disposition"] = 'inline; filename="diary.ics"'
    unchanged = get_conditional_response(request, etag, since, response)
    return unchanged or response


@allow(*EVERYONE)
@require_safe
def appointment_download(request: HttpRequest, pk: int) -> HttpResponse:
    """One appointment as a file for the patient."""
    appointment = get_object_or_404(Appointment, pk=pk)
    content = appointment_file(appointment, actor=request.user)
    response = HttpResponse(content, content_type=CALENDAR)
    response["Content-Disposition"] = f'attachment; filename="{FILE_NAME}"'
    return response

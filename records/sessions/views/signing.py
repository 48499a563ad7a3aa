"""Signing a session, and adding to a signed one."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.audit.services import record_read
from records.reviews.errors import DayRefused, ReviewBooked, ReviewClosed
from records.sessions.errors import SessionError
from records.sessions.forms.signing import AddendumForm, SignForm
from records.sessions.queries.content import content_of
from records.sessions.services.signing import add_addendum, sign_session
from records.sessions.views.charting import (
    REFUSALS,
    find_session,
    own_session,
    page_context,
)
from records.sessions.views.sittings import signed_context


@allow(Role.INJECTOR)
@require_http_methods(["GET", "POST"])
def session_sign(request: HttpRequest, pk: int) -> HttpResponse:
    """
    The summary, what becomes of each remainder, and the signature. What was said of a remainder on
    the charting screen comes along in the address, as `unit_7=kept`.
    """
    session = own_session(request, pk)
    if not session.is_open:
        return redirect("session-detail", pk)
    context = page_context(session) | {"is_empty": not content_of(session)}
    tray = [card.row for card in context["cards"]]
    said = request.GET.dict()
    form = SignForm(request.POST or None, tray=tray, signer=request.user, initial=said)
    if request.method == "GET":
        record_read(request.user, session, patient_id=session.patient_id)
    elif form.is_valid():
        try:
            sign_session(session=session, remainders=form.remainders, actor=request.user)
        except REFUSALS as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "Signed. The session is locked.")
            return redirect("session-detail", pk)
    context["form"] = form
    return render(request, "sessions/sign.html", context, status=422 if form.errors else 200)


@allow(Role.INJECTOR)
@require_http_methods(["GET", "POST"])
def addendum_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Add to a signed session, one's own or a colleague's."""
    session = find_session(pk)
    if not session.is_signed:
        # One's own opens on the charting screen, which is the answer and shows no message.
        if session.is_open and session.injector_id != request.user.pk:
            messages.error(request, "This session is not signed yet, so it can be changed itself.")
        return redirect("session-detail", pk)
    form = AddendumForm(request.POST or None, session=session)
    if request.method == "POST" and form.is_valid():
        try:
            add_addendum(session=session, actor=request.user, **form.said)
        except (SessionError, DayRefused, ReviewBooked, ReviewClosed) as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "The addendum is part of the note.")
            return redirect("session-detail", pk)
    context = page_context(session) | signed_context(session, form)
    return render(request, "sessions/signed.html", context, status=422 if form.errors else 200)

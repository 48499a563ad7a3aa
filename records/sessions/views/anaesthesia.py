"""Anaesthesia beside the products, at a desk: what the charting screen's note has too."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.audit.services import record_read
from records.sessions.errors import SessionError
from records.sessions.forms.anaesthesia import AnaesthesiaForm
from records.sessions.models import Anaesthesia
from records.sessions.services.anaesthesia import note_anaesthesia, remove_anaesthesia
from records.sessions.views.charting import own_session


@allow(Role.INJECTOR)
@require_http_methods(["GET", "POST"])
def session_anaesthesia(request: HttpRequest, pk: int) -> HttpResponse:
    """What was given in one's own unsigned session, and one more."""
    session = own_session(request, pk)
    if not session.is_open:
        return redirect("session-detail", pk)
    form = AnaesthesiaForm(
        request.POST if request.method == "POST" else None,
        session=session,
        initial={"given_at": timezone.localtime().replace(second=0, microsecond=0)},
    )
    if request.method == "GET":
        record_read(request.user, session, patient_id=session.patient_id)
    elif form.is_valid():
        try:
            note_anaesthesia(
                session=session, key=uuid.uuid4(), given=form.given,
                given_at=form.cleaned_data["given_at"], actor=request.user,
            )  # fmt: skip
        except SessionError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "Written down. The lidocaine total has it.")
            return redirect("session-anaesthesia", pk)
    context = {
        "session": session,
        "patient": session.patient,
        "anaesthesia": session.anaesthesia.standing(),
        "form": form,
    }
    return render(request, "sessions/anaesthesia.html", context, status=422 if form.errors else 200)


@allow(Role.INJECTOR)
@require_POST
def anaesthesia_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take one out of one's own unsigned session."""
    row = get_object_or_404(Anaesthesia, pk=pk)
    own_session(request, row.session_id)
    try:
        remove_anaesthesia(anaesthesia=row, actor=request.user)
    except SessionError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, "Removed.")
    return redirect("session-anaesthesia", row.session_id)

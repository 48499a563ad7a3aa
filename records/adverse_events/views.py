"""Recording adverse events, following them up, and seeing them all."""

from urllib.parse import urlencode

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.return_path import return_path
from clinic.access.rules import CLINICAL, allow
from clinic.audit.queries import changes_of
from clinic.audit.services import record_read
from clinic.audit.wording import told
from clinic.printing.csv_files import csv_download
from clinic.stock.forms import ReasonForm
from planning.event_cautions import EMERGENCIES, EVENT_CAUTIONS
from planning.event_timing import DELAYED_EVENTS
from planning.review_dates import ReviewDateError
from planning.sources import EVENT_GRADES
from records.adverse_events.enums import Grade
from records.adverse_events.errors import AdverseEventError
from records.adverse_events.exports import report_csv, report_fields
from records.adverse_events.forms import AdverseEventForm, AskedFor, CloseForm
from records.adverse_events.models import AdverseEvent
from records.adverse_events.queries import listed_events, point_words
from records.adverse_events.services import (
    change_event,
    close_event,
    record_event,
    reopen_event,
    report_pdf,
)
from records.patients.models import Patient
from records.patients.views import choose_patient

PER_PAGE = 40
NO_REVIEW = "Not stored yet: the review that a rule asks for has no day."
CAUTIONS = {"emergencies": EMERGENCIES, "cautions": EVENT_CAUTIONS}


@allow(*CLINICAL)
@require_GET
def adverse_event_list(request: HttpRequest) -> HttpResponse:
    """All of them, the open ones first."""
    pages = Paginator(listed_events(), PER_PAGE)
    context = {
        "page_obj": pages.get_page(request.GET.get("page")),
        "still_open": AdverseEvent.objects.still_open().count(),
        **CAUTIONS,
    }
    return render(request, "adverse_events/list.html", context)


@allow(*CLINICAL)
@require_GET
def adverse_event_for_patient(request: HttpRequest, pk: int) -> HttpResponse:
    """A patient's events, for the page of the patient."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="read.adverse_events")
    context = {
        "patient": patient,
        "events": listed_events().filter(patient=patient),
        "back": request.htmx.current_url_abs_path or "",  # type: ignore[attr-defined]
    }
    return render(request, "adverse_events/_for_patient.html", context)


@allow(*CLINICAL)
@require_http_methods(["GET", "POST"])
def adverse_event_create(request: HttpRequest) -> HttpResponse:
    """Record an event of the patient the address names; without one, choose the patient first."""
    asked = AskedFor(request.GET)
    asked.is_valid()
    patient = asked.cleaned_data.get("patient")
    if patient is None:
        return choose_patient(
            request,
            page="adverse_events/choose_patient.html",
            place="event-results",
            on_enter="record an adverse event of this patient",
        )
    back = return_path(request, otherwise=reverse("patient-detail", args=[patient.pk]))
    form = AdverseEventForm(
        request.POST if request.method == "POST" else None,
        instance=AdverseEvent(patient=patient),
        back=back,
        initial={name: asked.cleaned_data.get(name) for name in ("session", "lot")},
    )
    if request.method == "POST" and form.is_valid():
        try:
            event = record_event(
                event=form.instance, points=form.cleaned_data["points"], actor=request.user
            )
        except ReviewDateError as error:
            form.add_error(None, f"{NO_REVIEW} {error}")
        else:
            messages.success(request, "The adverse event is recorded.")
            if asked.cleaned_data.get("case"):
                return redirect(_with_event(back, event))
            return redirect("adverse-event-detail", event.pk)
    return _form_page(request, form, patient)


@allow(*CLINICAL)
@require_GET
def adverse_event_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One event and what was done about it."""
    event = _find(pk)
    record_read(request.user, event, patient_id=event.patient_id)
    return _detail_page(request, event, ReasonForm())


@allow(*CLINICAL)
@require_http_methods(["GET", "POST"])
def adverse_event_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Write what is known by now."""
    event = _find(pk)
    form = AdverseEventForm(
        request.POST if request.method == "POST" else None,
        instance=event,
        back=reverse("adverse-event-detail", args=[pk]),
    )
    if request.method == "POST" and form.is_valid():
        try:
            changed = [name for name in form.changed_data if name != "points"]
            points = form.cleaned_data["points"] if "points" in form.changed_data else None
            change_event(event=event, fields=changed, points=points, actor=request.user)
        except AdverseEventError as error:
            form.add_error(None, str(error))
        except ReviewDateError as error:
            form.add_error(None, f"{NO_REVIEW} {error}")
        else:
            return redirect("adverse-event-detail", pk)
    return _form_page(request, form, event.patient, event=event)


@allow(*CLINICAL)
@require_http_methods(["GET", "POST"])
def adverse_event_close(request: HttpRequest, pk: int) -> HttpResponse:
    """Close an event with how it ended."""
    event = _find(pk)
    form = CloseForm(
        request.POST if request.method == "POST" else None,
        event=event,
        back=reverse("adverse-event-detail", args=[pk]),
        initial={"outcome": event.outcome},
    )
    if request.method == "POST" and form.is_valid():
        try:
            close_event(event=event, outcome=form.cleaned_data["outcome"], actor=request.user)
        except AdverseEventError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "The adverse event is closed.")
            return redirect("adverse-event-detail", pk)
    context = {"form": form, "event": event, "patient": event.patient}
    status = 422 if form.errors else 200
    return render(request, "adverse_events/close.html", context, status=status)


@allow(*CLINICAL)
@require_POST
def adverse_event_reopen(request: HttpRequest, pk: int) -> HttpResponse:
    """Go on with a closed event."""
    event, form = _find(pk), ReasonForm(request.POST)
    if not form.is_valid():
        return _detail_page(request, event, form, status=422)
    try:
        reopen_event(event=event, reason=form.cleaned_data["reason"], actor=request.user)
    except AdverseEventError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, "The adverse event is open again.")
    return redirect("adverse-event-detail", pk)


@allow(*CLINICAL)
@require_GET
def adverse_event_report(request: HttpRequest, pk: int) -> HttpResponse:
    """What a report to an authority asks for, as a PDF."""
    event = _find(pk)
    pdf = report_pdf(event=event, fields=report_fields(event), actor=request.user)
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="adverse-event-{event.pk}.pdf"'
    return response


@allow(*CLINICAL)
@require_GET
def adverse_event_csv(request: HttpRequest, pk: int) -> StreamingHttpResponse:
    """The same as a table."""
    event = _find(pk)
    record_read(request.user, event, patient_id=event.patient_id, action="exported")
    return csv_download(f"adverse-event-{event.pk}", report_csv(report_fields(event)))


def _find(pk: int) -> AdverseEvent:
    events = AdverseEvent.objects.select_related(
        "patient", "lot__product", "product", "unit", "session__injector", "recorded_by",
        "closed_by",
    )  # fmt: skip
    return get_object_or_404(events, pk=pk)


def _form_page(
    request: HttpRequest, form: AdverseEventForm, patient: Patient, **context
) -> HttpResponse:
    context |= {
        "form": form,
        "patient": patient,
        **CAUTIONS,
        "grades": list(Grade),
        "grades_source": EVENT_GRADES,
    }
    status = 422 if form.errors else 200
    return render(request, "adverse_events/form.html", context, status=status)


def _detail_page(
    request: HttpRequest, event: AdverseEvent, form: ReasonForm, *, status: int = 200
) -> HttpResponse:
    """The event's page; a reason that came back with an error shows its dialog open."""
    context = {
        "event": event,
        "patient": event.patient,
        "grade": Grade(event.grade),
        "timing_source": DELAYED_EVENTS,
        "points": [point_words(point) for point in event.points.select_related("session")],
        "reviews": {ask.review for ask in event.review_asks.select_related("review")},
        "history": told(changes_of(event)[:40]),
        **CAUTIONS,
        "form": form,
        "open_reopen": status == 422,
    }
    return render(request, "adverse_events/detail.html", context, status=status)


def _with_event(path: str, event: AdverseEvent) -> str:
    """The address of a caller that links the event to something of its own."""
    return f"{path}{'&' if '?' in path else '?'}{urlencode({'event': event.pk})}"

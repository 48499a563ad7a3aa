"""The call list, and the page of one person on it."""

from django.contrib import messages
from django.core.paginator import Page, Paginator
from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.audit.services import acting, record_read
from clinic.policy.queries import current_policy
from clinic.printing.csv_files import csv_download
from clinic.printing.documents import document_html
from clinic.printing.pdf import render_pdf
from clinic.visit_kinds.enums import AppointmentKind
from planning.ages import age_years
from records.adverse_events.models import AdverseEvent
from records.appointments.errors import TimeTaken
from records.appointments.forms.booking import BookingForm
from records.appointments.views.booking import booked, booking_page
from records.recalls.enums import Reach
from records.recalls.errors import RecallError
from records.recalls.exports import call_list_as_csv
from records.recalls.forms.people import ContactForm, PeopleFilter, UnreachableForm
from records.recalls.models import CasePatient, RecallCase
from records.recalls.queries.people import CallList, call_rows, to_contact_after
from records.recalls.services.lists import complete_list
from records.recalls.services.people import (
    attach_event,
    book_for,
    note_contact,
    note_unreachable,
)  # fmt: skip
from records.recalls.views.shared import CasePage, case_context, find_case, look_at

PER_PAGE = 50
# Some sixty pages, and ten to twenty seconds of one processor.
PRINTED_PEOPLE = 1_000


@allow(Role.OWNER)
@require_GET
def recall_people(request: HttpRequest, pk: int) -> HttpResponse:
    """Everybody affected: how to reach them, what they were given, how far they have got."""
    page = look_at(request, pk)
    record_read(request.user, page.case, action="recall.list_read")
    return _list_page(request, page)


def _list_page(request: HttpRequest, page: CasePage) -> HttpResponse:
    asked = PeopleFilter(request.GET)
    chosen = asked.chosen
    late = page.case.found_late_after if chosen.pop("late") else None
    people = CallList(page.case, page.extent, found_after=late, **chosen)
    # Its length and slices are all that a paginator asks for.
    part: Page = Paginator(people, PER_PAGE).get_page(request.GET.get("page"))  # type: ignore[arg-type]
    context = page.context(asked=asked, page_obj=part, rows=part.object_list, late=late, **chosen)
    counts = context["progress"]
    context["tabs"] = [
        (Reach.TO_CONTACT, counts.to_contact),
        (Reach.TRIED, counts.tried),
        (Reach.REACHED, counts.reached),
    ]
    return render(request, "recalls/people.html", context)


@allow(Role.OWNER)
@require_GET
def people_csv(request: HttpRequest, pk: int) -> StreamingHttpResponse:
    """The whole list with every way to reach each, streamed."""
    page = look_at(request, pk)
    people = CallList(page.case, page.extent)
    _record_handed_out(request, page.case, "recall.exported")
    return csv_download(f"{page.case.file_stem}-call-list", call_list_as_csv(people))


@allow(Role.OWNER)
@require_GET
def people_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """The whole list on paper, to be called from."""
    page = look_at(request, pk)
    case, people = page.case, CallList(page.case, page.extent)
    if len(people) > PRINTED_PEOPLE:
        messages.warning(
            request,
            f"The call list has {len(people):,} people, and a PDF holds at most "
            f"{PRINTED_PEOPLE:,}. Take the CSV: it holds all of them.",
        )
        return redirect("recall-people", pk)
    _record_handed_out(request, case, "recall.printed")
    context = page.context(
        rows=list(people), extent=page.extent, policy=current_policy(),
        printed_at=timezone.now(), printed_by=request.user,
    )  # fmt: skip
    return pdf_answer("print/recall_people.html", context, f"{case.file_stem}-call-list")


def pdf_answer(template: str, context: dict, name: str) -> HttpResponse:
    pdf = render_pdf(document_html(template, context))
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return response


def _record_handed_out(request: HttpRequest, case: RecallCase, action: str) -> None:
    """Each patient's trail tells that their details left the tool."""
    with acting(request.user) as trail:
        for patient in case.people.order_by("pk").values_list("patient_id", flat=True):
            trail.add(action, case, patient_id=patient)


@allow(Role.OWNER)
@require_POST
def list_complete(request: HttpRequest, pk: int) -> HttpResponse:
    """Say that everybody is on the list and can be reached; it stops the list's watch."""
    try:
        complete_list(case=find_case(pk), actor=request.user)
    except RecallError as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "The call list is complete.")
    return redirect("recall-people", pk)


@allow(Role.OWNER)
@require_http_methods(["GET", "POST"])
def recall_person(request: HttpRequest, pk: int, person: int) -> HttpResponse:
    """One person: how to reach them, what they were given, each attempt, and noting one."""
    found = _person(pk, person)
    form = ContactForm(
        request.POST if request.method == "POST" else None,
        initial={"channel": found.patient.preferred_channel},
    )
    if request.method == "POST" and form.is_valid():
        try:
            note_contact(person=found, actor=request.user, **form.cleaned_data)
        except RecallError as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"Noted for {found.patient.record_number}.")
            return redirect("recall-person", pk, person)
    if request.method == "GET":
        record_read(request.user, found.case, patient_id=found.patient_id)
    return _person_page(request, found, form=form)


def _person(pk: int, person: int) -> CasePatient:
    people = CasePatient.objects.select_related("case", "patient", "appointment__practitioner")
    return get_object_or_404(people, case=pk, pk=person)


def _person_page(request: HttpRequest, person: CasePatient, **forms) -> HttpResponse:
    """The page; a form that came back with errors is among `forms`."""
    page = look_at(request, person.case_id)
    patient, points = person.patient, page.extent.points()
    attached = set(page.case.events.values_list("event_id", flat=True))
    events = AdverseEvent.objects.filter(patient=patient).select_related("lot")
    of_patient = points.filter(session__patient=patient).select_related(
        "session__injector", "unit__lot__product"
    )
    note_form = UnreachableForm(initial={"note": person.unreachable_note})
    context = page.context(
        person=person,
        patient=patient,
        age=age_years(patient.birth_date, timezone.localdate()),
        row=call_rows(page.extent, [person.pk])[0],
        points=of_patient.order_by("session__started_at", "number"),
        doses=[
            dose for dose in page.extent.doses if dose.occlusion.session.patient_id == patient.pk
        ],
        contacts=person.contacts.select_related("by"),
        events=[(event, event.pk in attached) for event in events],
        following=to_contact_after(person) if page.case.is_open else None,
        **{"form": ContactForm(), "note_form": note_form} | forms,
    )
    is_refused = any(form.errors for form in forms.values())
    return render(request, "recalls/person.html", context, status=422 if is_refused else 200)


@allow(Role.OWNER)
@require_POST
def person_unreachable(request: HttpRequest, pk: int, person: int) -> HttpResponse:
    """Write down why there is no way to reach them."""
    found, form = _person(pk, person), UnreachableForm(request.POST)
    if not form.is_valid():
        return _person_page(request, found, note_form=form)
    try:
        note_unreachable(person=found, note=form.cleaned_data["note"], actor=request.user)
    except RecallError as refusal:
        messages.error(request, str(refusal))
    return redirect("recall-person", pk, person)


@allow(Role.OWNER)
@require_http_methods(["GET", "POST"])
def person_book(request: HttpRequest, pk: int, person: int) -> HttpResponse:
    """Book the appointment at which they are seen because of the recall."""
    found = _person(pk, person)
    form = BookingForm(
        request.POST if request.method == "POST" else None,
        patient=found.patient,
        back=reverse("recall-person", args=[pk, person]),
        initial={"kind": AppointmentKind.REVIEW.value},
    )
    lost: TimeTaken | None = None
    if request.method == "POST" and form.is_valid():
        try:
            appointment = book_for(person=found, appointment=form.instance, actor=request.user)
        except (TimeTaken, RecallError) as refusal:
            lost = refusal if isinstance(refusal, TimeTaken) else None
            form.add_error(None, str(refusal))
        else:
            return booked(request, appointment)
    return booking_page(request, form, found.patient, lost=lost, **case_context(found.case))


@allow(Role.OWNER)
@require_POST
def event_attach(request: HttpRequest, pk: int, person: int, event: int) -> HttpResponse:
    """Count an adverse event of theirs as found in the course of the case."""
    found = _person(pk, person)
    of_patient = get_object_or_404(AdverseEvent, patient=found.patient_id, pk=event)
    try:
        attach_event(case=found.case, event=of_patient, actor=request.user)
    except RecallError as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, f"The adverse event belongs to {found.case} now.")
    return redirect("recall-person", pk, person)

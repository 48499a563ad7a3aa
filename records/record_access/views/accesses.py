"""Who saw a record, and which records a member of staff opened: pages, CSV and PDF."""

from dataclasses import dataclass
from typing import cast

from django.http import HttpRequest, HttpResponse, HttpResponseBase, QueryDict
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_safe

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.audit.models import AuditEvent
from clinic.audit.services import record_read
from clinic.audit.wording import Told, told
from clinic.policy.queries import current_policy
from clinic.printing.csv_files import csv_download
from clinic.printing.documents import document_html
from clinic.printing.pdf import render_pdf
from clinic.staff.models import User
from planning.act_kinds import ActKind, kind_of
from records.patients.models import Patient
from records.record_access.exports import accesses_as_csv
from records.record_access.forms import AccessFilterForm, OwnRecordForm
from records.record_access.models import AccessFinding, StaffPatient
from records.record_access.queries.accesses import of_records, readers_of, records_opened

LINES_PER_PAGE = 50
# On paper; the CSV has all.
MOST_PRINTED = 500


@dataclass(frozen=True, slots=True)
class Line:
    """One act, and its kind."""

    told: Told
    kind: ActKind


def _lines(events: list[AuditEvent]) -> list[Line]:
    return [Line(one, kind_of(one.event.action)) for one in told(events)]


def _page(form: AccessFilterForm, **whose) -> dict:
    """A page of the trail from a position on, and what is needed to go on."""
    wanted = form.wanted
    events = list(of_records(**{**wanted, **whose})[: LINES_PER_PAGE + 1])
    page = events[:LINES_PER_PAGE]
    return {
        "form": form,
        "lines": _lines(page),
        "next_before": page[-1].id if len(events) > LINES_PER_PAGE else None,
        "is_first_page": wanted["before"] is None,
        "is_filtered": any(value for name, value in wanted.items() if name != "before"),
        "query": _query(form),
    }


def _query(form: AccessFilterForm) -> str:
    """What was narrowed down, for the addresses of the files."""
    query = cast(QueryDict, form.data).copy()
    query.pop("before", None)
    return query.urlencode()


@allow(Role.OWNER)
@require_GET
def of_patient(request: HttpRequest, pk: int) -> HttpResponse:
    """Who opened, changed, printed, exported or sent something of this record."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=pk, action="read.access")
    form = AccessFilterForm(request.GET, by_person=True)
    findings = AccessFinding.objects.filter(patient=patient).with_people()
    context = {
        "patient": patient,
        "readers": readers_of(pk),
        "findings": findings[:10],
        **_page(form, patient_id=pk),
    }
    return render(request, "record_access/patient.html", context)


@allow(Role.OWNER)
@require_safe
def of_patient_csv(request: HttpRequest, pk: int) -> HttpResponseBase:
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=pk, action="access.exported")
    events = _all(request, by_person=True, patient_id=pk)
    return csv_download(f"who-saw-{patient.record_number}", accesses_as_csv(events.iterator()))


@allow(Role.OWNER)
@require_safe
def of_patient_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=pk, action="access.printed")
    events = _all(request, by_person=True, patient_id=pk)
    return _pdf(request, events, f"who-saw-{patient.record_number}", patient=patient)


@allow(Role.OWNER)
@require_GET
def of_person(request: HttpRequest, pk: int) -> HttpResponse:
    """Which records a member of staff opened, changed, printed, exported or sent."""
    person = get_object_or_404(User, pk=pk)
    record_read(request.user, person, action="read.access")
    return person_page(request, person, OwnRecordForm())


def person_page(
    request: HttpRequest, person: User, own_form: OwnRecordForm, status: int = 200
) -> HttpResponse:
    own = StaffPatient.objects.the_same().filter(person=person).select_related("patient")
    context = {
        "member": person,
        "opened": records_opened(person.pk, timezone.now()),
        "own": own.first(),
        "own_form": own_form,
        "findings": AccessFinding.objects.filter(person=person).with_people()[:10],
        **_page(AccessFilterForm(request.GET, by_person=False), actor_id=person.pk),
    }
    return render(request, "record_access/person.html", context, status=status)


@allow(Role.OWNER)
@require_safe
def of_person_csv(request: HttpRequest, pk: int) -> HttpResponseBase:
    person = get_object_or_404(User, pk=pk)
    record_read(request.user, person, action="access.exported")
    events = _all(request, by_person=False, actor_id=pk)
    return csv_download(f"records-opened-{pk}", accesses_as_csv(events.iterator()))


@allow(Role.OWNER)
@require_safe
def of_person_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(User, pk=pk)
    record_read(request.user, person, action="access.printed")
    events = _all(request, by_person=False, actor_id=pk)
    return _pdf(request, events, f"records-opened-{pk}", member=person)


def _all(request: HttpRequest, *, by_person: bool, **whose):
    """Everything that the filter shows, not a page of it."""
    wanted = AccessFilterForm(request.GET, by_person=by_person).wanted
    return of_records(**{**wanted, **whose, "before": None})


def _pdf(request: HttpRequest, events, name: str, **whose) -> HttpResponse:
    first = list(events[: MOST_PRINTED + 1])
    context = {
        "lines": _lines(first[:MOST_PRINTED]),
        "is_cut": len(first) > MOST_PRINTED,
        "most": MOST_PRINTED,
        "policy": current_policy(),
        "printed_at": timezone.now(),
        "printed_by": request.user,
        **whose,
    }
    pdf = render_pdf(document_html("print/record_access.html", context))
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return response

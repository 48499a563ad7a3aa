"""All cases, opening one, and the page of a case."""

from copy import copy
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models.functions import Length
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.access.uploads import was_too_large
from clinic.audit.queries import changes_of
from clinic.audit.services import record_read
from clinic.audit.wording import told
from clinic.stock.errors import StockError
from clinic.stock.models import Lot
from records.recalls.errors import RecallError
from records.recalls.forms.opening import CorrectionForm, EndForm, FileForm, NoticeForm
from records.recalls.forms.spans import AddSpanForm, SpanRows
from records.recalls.models import CaseSpan, NoticeFile, RecallCase
from records.recalls.queries.cases import case_rows
from records.recalls.queries.people import missing_patients
from records.recalls.queries.progress import status_of
from records.recalls.queries.questions import questions
from records.recalls.services.cases import (
    add_spans,
    attach_notice,
    correct_notice,
    expect_end,
    open_case,
)
from records.recalls.services.closing import content_digest
from records.recalls.views.shared import CasePage, case_context, find_case, look_at

PER_PAGE = 30
SHOWN_HISTORY = 20
# Signs of a notice's text; some twelve lines are in sight of one that is longer.
LONGEST_IN_SIGHT, BEGINNING = 1_200, 900


@allow(Role.OWNER)
@require_GET
def recall_list(request: HttpRequest) -> HttpResponse:
    """Open cases first, then the closed ones; drills apart."""
    cases = RecallCase.objects.order_by("-id")
    page = Paginator(cases.real().closed(), PER_PAGE).get_page(request.GET.get("page"))
    now = timezone.now()
    context = {
        "open": case_rows(cases.real().still_open(), now),
        "closed": case_rows(page.object_list, now),
        "page_obj": page,
        "drills": case_rows(cases.filter(is_drill=True)[:PER_PAGE], now),
    }
    return render(request, "recalls/list.html", context)


@allow(Role.OWNER)
@require_http_methods(["GET", "POST"])
def recall_create(request: HttpRequest) -> HttpResponse:
    """Open a case and stop the stock; with ?drill=1 begin a drill, with ?lot= about that lot."""
    is_drill = "drill" in request.GET
    if request.method == "POST":
        # Read first: it tells whether a file was too large.
        files = request.FILES
        form = NoticeForm(
            request.POST, files, is_drill=is_drill, was_too_large=was_too_large(request)
        )
        rows = SpanRows(request.POST, prefix="spans")
        # Both are asked, so that all marks stand on the page at once.
        if all([form.is_valid(), rows.is_valid()]) and (case := _opened(request, form, rows)):
            return redirect("recall-detail", case.pk)
        form.ask_for_file_again()
        return _create_page(request, form, rows, status=422)
    lot = _lot_asked_for(request)
    form = NoticeForm(is_drill=is_drill, initial=_proposal(lot, is_drill=is_drill))
    initial = [{"product": lot.product, "lot_first": lot.number}] if lot else None
    return _create_page(request, form, SpanRows(prefix="spans", initial=initial))


def _create_page(
    request: HttpRequest, form: NoticeForm, rows: SpanRows, status: int = 200
) -> HttpResponse:
    context = {"form": form, "rows": rows, "is_drill": form.is_drill}
    return render(request, "recalls/create.html", context, status=status)


def _opened(request: HttpRequest, form: NoticeForm, rows: SpanRows) -> RecallCase | None:
    """The case that was opened, or None with the refusal on the form."""
    try:
        case = open_case(
            case=form.instance,
            spans=rows.spans,
            file=form.cleaned_data.get("file"),
            actor=request.user,
        )
    except (RecallError, StockError) as refusal:
        form.add_error(None, str(refusal))
        return None
    stopped = "nothing is stopped" if case.is_drill else "the stock is stopped"
    messages.success(
        request,
        f"{case} is open: {stopped}. On the call list: {case.people.count()}. "
        f"To be pulled: {case.units.count()}.",
    )
    return case


def _lot_asked_for(request: HttpRequest) -> Lot | None:
    asked = request.GET.get("lot", "")
    lots = Lot.objects.select_related("product")
    return lots.filter(pk=int(asked)).first() if asked.isdecimal() and len(asked) < 19 else None


def _proposal(lot: Lot | None, *, is_drill: bool) -> dict:
    now = timezone.localtime()
    proposal: dict[str, Any] = {"received_at": now, "notice_on": now.date()}
    if lot:
        proposal["maker"] = lot.product.maker
    if is_drill:
        proposal["reference"] = f"Drill of {now:%-d %B %Y}"
        about = f"lot {lot.number} of {lot.product}" if lot else "the lot below"
        proposal["text"] = f"A drill, as if the maker had recalled {about} today."
    return proposal


@allow(Role.OWNER)
@require_GET
def recall_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """Where the case stands: its stopwatch, the regulator's figures, what it names."""
    page = look_at(request, pk)
    record_read(request.user, page.case)
    return case_page(request, page)


def beginning_and_rest(text: str) -> tuple[str, str]:
    """A long text in two, parted between words: what is always in sight, and what is opened."""
    if len(text) <= LONGEST_IN_SIGHT:
        return text, ""
    begin = text[:BEGINNING]
    cut = max(begin.rfind(" "), begin.rfind("\n")) + 1 or BEGINNING
    return text[:cut].rstrip(), text[cut:].lstrip()


def case_page(request: HttpRequest, page: CasePage, status: int = 200, **more) -> HttpResponse:
    """The page of a case; `more` holds a form that came back with errors."""
    case = page.case
    files = case.files.annotate(size=Length("content")).defer("content")
    context = page.context()
    context |= {
        "notice_parts": beginning_and_rest(case.text),
        "extent": page.extent,
        "status": status_of(case, page.extent, context["progress"]),
        "questions": questions(page.extent) if case.is_open else [],
        "found_late": case.people.filter(added_at__gt=case.found_late_after).count(),
        "files": files.select_related("added_by"),
        "history": told(changes_of(case)[:SHOWN_HISTORY]),
        "file_form": FileForm(),
        "end_form": EndForm(initial={"day": case.expected_end_on}),
    }
    if not case.is_open:
        context["found_after_closing"] = len(missing_patients(case, page.extent))
        context["is_as_closed"] = content_digest(case) == case.closed_digest
    return render(request, "recalls/detail.html", context | more, status=status)


@allow(Role.OWNER)
@require_GET
def recall_clock(request: HttpRequest, pk: int) -> HttpResponse:
    """The stopwatch alone, asked for again and again by the page while it runs."""
    return render(request, "recalls/_clock.html", case_context(find_case(pk)))


@allow(Role.OWNER)
@require_http_methods(["GET", "POST"])
def span_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Add to what the case names; a lot that looked alike comes with the address."""
    case = find_case(pk)
    if not case.is_open:
        messages.error(request, f"{case} is closed and never changes.")
        return redirect("recall-detail", pk)
    lot = _lot_asked_for(request)
    initial = {"product": lot.product, "lot_first": lot.number} if lot else {}
    form = AddSpanForm(request.POST if request.method == "POST" else None, initial=initial)
    if request.method == "POST" and form.is_valid() and _added(request, case, form):
        return redirect("recall-detail", pk)
    context = case_context(case) | {"form": form, "lot": lot}
    status = 422 if form.errors else 200
    return render(request, "recalls/span.html", context, status=status)


def _added(request: HttpRequest, case: RecallCase, form: AddSpanForm) -> bool:
    spans: list[CaseSpan] = form.spans
    try:
        add_spans(case=case, spans=spans, actor=request.user)
    except (RecallError, StockError) as refusal:
        form.add_error(None, str(refusal))
        return False
    named = "; ".join(str(span) for span in spans)
    stopped = "" if case.is_drill else " and stopped"
    messages.success(request, f"Added{stopped}: {named}.")
    return True


@allow(Role.OWNER)
@require_http_methods(["GET", "POST"])
def notice_correct(request: HttpRequest, pk: int) -> HttpResponse:
    """Correct what was written down of the notice."""
    case = find_case(pk)
    if not case.is_open:
        messages.error(request, f"{case} is closed and never changes.")
        return redirect("recall-detail", pk)
    data = request.POST if request.method == "POST" else None
    # The form writes what is typed into its copy; the heading keeps what is stored.
    form = CorrectionForm(data, instance=copy(case), is_drill=case.is_drill)
    if form.is_valid():
        reason = form.cleaned_data["reason"]
        try:
            correct_notice(case=form.instance, reason=reason, actor=request.user)
        except RecallError as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "The notice is corrected. The history keeps what it said.")
            return redirect("recall-detail", pk)
    context = case_context(case) | {"form": form}
    return render(request, "recalls/correct.html", context, status=422 if form.errors else 200)


@allow(Role.OWNER)
@require_POST
def notice_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep one more file with the notice."""
    case, files = find_case(pk), request.FILES
    form = FileForm(request.POST, files, was_too_large=was_too_large(request))
    if form.is_valid():
        name, content = form.cleaned_data["file"]
        try:
            attach_notice(case=case, name=name, content=content, actor=request.user)
        except RecallError as refusal:
            form.add_error("file", str(refusal))
        else:
            messages.success(request, f"Kept with the case: {name}.")
            return redirect("recall-detail", pk)
    return case_page(request, look_at(request, pk), status=422, file_form=form)


@allow(Role.OWNER)
@require_GET
def notice_file(request: HttpRequest, pk: int, file: int) -> HttpResponse:
    """A file of the notice as it came, to be saved: it is never shown as a page of ours."""
    found = get_object_or_404(NoticeFile, case=pk, pk=file)
    record_read(request.user, found)
    headers = {
        "Content-Disposition": content_disposition_header(as_attachment=True, filename=found.name),
        "X-Content-Type-Options": "nosniff",
    }
    return HttpResponse(bytes(found.content), content_type=found.content_type, headers=headers)


@allow(Role.OWNER)
@require_POST
def recall_end(request: HttpRequest, pk: int) -> HttpResponse:
    """Say by when everybody will have been reached."""
    form = EndForm(request.POST)
    if not form.is_valid():
        return case_page(request, look_at(request, pk), status=422, end_form=form)
    try:
        expect_end(case=find_case(pk), day=form.cleaned_data["day"], actor=request.user)
    except RecallError as refusal:
        messages.error(request, str(refusal))
    return redirect("recall-detail", pk)

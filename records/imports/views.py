"""Imports of a former record, for the owner; and what they brought, on a patient's page."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import (
    require_GET,
    require_http_methods,
    require_POST,
    require_safe,
)

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, allow
from clinic.access.uploads import was_too_large
from clinic.audit.services import record_read
from clinic.background.queries import worker_silence
from clinic.printing.csv_files import as_text, csv_download, csv_lines
from planning.imports.columns import COLUMNS, ERROR_COLUMNS, Kind
from records.imports.enums import RowState, State
from records.imports.errors import ImportRefused
from records.imports.forms import MappingForm, UndoForm, UploadForm
from records.imports.models import Import, ImportRow
from records.imports.queries.standing import (
    NOT_TAKEN,
    SHOWN_ROWS,
    error_heading,
    error_rows,
    rows_to_look_at,
    standing_of,
    undo_until,
)
from records.imports.queries.treatments import treatments_of
from records.imports.services.acts import begin, begin_undoing, take_all_alike, take_all_the_same
from records.imports.services.batches import carry_on
from records.imports.services.mapping import discard, map_columns
from records.imports.services.uploading import take_up
from records.patients.models import Patient

STEP_SECONDS = 1.5
IMPORTS_PER_PAGE = 30
SAMPLE_ROWS = 5
_ROWS_SHOWN = {
    State.CHECKED: NOT_TAKEN,
    State.DONE: NOT_TAKEN,
    State.UNDONE: (RowState.KEPT,),
}


@allow(Role.OWNER)
@require_http_methods(["GET", "POST"])
def import_list(request: HttpRequest) -> HttpResponse:
    """The files so far, and the next one."""
    if request.method == "POST":
        # Asked after the files are read: the upload limit drops what is beyond it.
        files = request.FILES
        form = UploadForm(request.POST, files, is_too_large=was_too_large(request))
        if form.is_valid():
            try:
                taken = take_up(
                    file=form.cleaned_data["file"], kind=Kind(form.cleaned_data["kind"]),
                    letters=form.cleaned_data["letters"], actor=request.user,
                )  # fmt: skip
            except ImportRefused as error:
                form.add_error("file", str(error))
            else:
                return redirect("import-mapping", taken.pk)
    else:
        form = UploadForm()
    page = Paginator(Import.objects.select_related("uploaded_by"), IMPORTS_PER_PAGE).get_page(
        request.GET.get("page")
    )
    context = {"form": form, "page_obj": page, "columns": [(k, COLUMNS[k]) for k in Kind]}
    return render(request, "imports/list.html", context, status=422 if form.errors else 200)


@allow(Role.OWNER)
@require_http_methods(["GET", "POST"])
def import_mapping(request: HttpRequest, pk: int) -> HttpResponse:
    """Which of their columns is which of ours, with the first rows beside it."""
    taken = _import_or_404(pk)
    if taken.now not in (State.UPLOADED, State.CHECKED):
        return redirect("import-detail", pk)
    form = MappingForm(request.POST if request.method == "POST" else None, taken=taken)
    if form.is_valid():
        data = form.cleaned_data
        try:
            map_columns(
                taken=taken, mapping=form.mapping, date_order=data["date_order"],
                measure=data["measure"], actor=request.user,
            )  # fmt: skip
        except ImportRefused as error:
            form.add_error(None, str(error))
        else:
            return redirect("import-detail", pk)
    if request.method == "GET":
        record_read(request.user, taken)
    context = {"taken": taken, "form": form, "sample": _sample(taken)}
    return render(request, "imports/mapping.html", context, status=422 if form.errors else 200)


def _sample(taken: Import) -> list[tuple[str, list[str]]]:
    """Of each of their columns the heading and the cells of the first rows."""
    rows = [row.cells or [] for row in taken.rows.order_by("number")[:SAMPLE_ROWS]]
    return [
        (heading, [cells[place] if place < len(cells) else "" for cells in rows])
        for place, heading in enumerate(taken.headings)
    ]


@allow(Role.OWNER)
@require_GET
def import_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """How far it is, what is refused, and what can be done next."""
    taken = _import_or_404(pk)
    record_read(request.user, taken)
    return render(request, "imports/detail.html", _detail(taken))


def _detail(taken: Import) -> dict:
    shown = [
        (state, list(rows_to_look_at(taken, state)[:SHOWN_ROWS]))
        for state in _ROWS_SHOWN.get(taken.now, ())
    ]
    until = undo_until(taken)
    has_errors = taken.cells_dropped_at is None and taken.now in (State.CHECKED, State.DONE)
    return _standing(taken) | {
        "shown": [(state, rows) for state, rows in shown if rows],
        "most": SHOWN_ROWS,
        "until": until,
        "has_errors": has_errors,
        "unread": _unread(taken),
        "may_undo": taken.now is State.DONE and until is not None and until > timezone.now(),
    }


def _unread(taken: Import) -> list[str]:
    """Headings of columns that are not taken in."""
    read = set(taken.mapping.values())
    return [
        name
        for place, name in enumerate(taken.headings)
        if name and place not in read and name not in ERROR_COLUMNS
    ]


def _standing(taken: Import) -> dict:
    """Context of imports/_progress.html."""
    return {"taken": taken, "stands": standing_of(taken), "silence": worker_silence()}


@allow(Role.OWNER)
@require_POST
def import_step(request: HttpRequest, pk: int) -> HttpResponse:
    """A moment of work; the answer asks for the next one by itself as long as something is left."""
    taken = _import_or_404(pk)
    is_left = carry_on(taken=taken, seconds=STEP_SECONDS)
    if "HX-Request" not in request.headers:
        return redirect("import-detail", pk)
    answer = render(request, "imports/_progress.html", _standing(_import_or_404(pk)))
    if not is_left:
        # What there is to look at and to do stands outside of the fragment.
        answer["HX-Refresh"] = "true"
    return answer


@allow(Role.OWNER)
@require_POST
def import_begin(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(request, pk, begin)


@allow(Role.OWNER)
@require_POST
def import_discard(request: HttpRequest, pk: int) -> HttpResponse:
    _act(request, pk, discard)
    return redirect("import-list")


def _act(request: HttpRequest, pk: int, act) -> HttpResponse:
    try:
        act(taken=_import_or_404(pk), actor=request.user)
    except ImportRefused as error:
        messages.error(request, str(error))
    return redirect("import-detail", pk)


@allow(Role.OWNER)
@require_http_methods(["GET", "POST"])
def import_undo(request: HttpRequest, pk: int) -> HttpResponse:
    taken = _import_or_404(pk)
    form = UndoForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            begin_undoing(taken=taken, reason=form.cleaned_data["reason"], actor=request.user)
        except ImportRefused as error:
            form.add_error(None, str(error))
        else:
            return redirect("import-detail", pk)
    context = {
        "taken": taken,
        "form": form,
        "stands": standing_of(taken),
        "until": undo_until(taken),
    }
    return render(request, "imports/undo.html", context, status=422 if form.errors else 200)


@allow(Role.OWNER)
@require_POST
def import_all_take(request: HttpRequest, pk: int) -> HttpResponse:
    """All that are only alike are others."""
    return _act(request, pk, take_all_alike)


@allow(Role.OWNER)
@require_POST
def import_row_take(request: HttpRequest, pk: int) -> HttpResponse:
    """This row is not who is here already."""
    row = get_object_or_404(ImportRow.objects.select_related("import_of"), pk=pk)
    try:
        take_all_the_same(row=row, actor=request.user)
    except ImportRefused as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"Row {row.number} will be taken in.")
    return redirect("import-detail", row.import_of_id)


@allow(Role.OWNER)
@require_safe
def import_errors(request: HttpRequest, pk: int) -> HttpResponseBase:
    """The rows that were not taken in, to be mended and uploaded again; streamed."""
    taken = _import_or_404(pk)
    record_read(request.user, taken, action="import.errors_exported")
    rows = (map(as_text, row) for row in error_rows(taken))
    heading = list(map(as_text, error_heading(taken)))
    return csv_download(f"import-{pk}-refused", csv_lines(heading, map(list, rows)))


@allow(*CLINICAL)
@require_GET
def imports_for_patient(request: HttpRequest, pk: int) -> HttpResponse:
    """What the former record said, for the patient's page."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="read.former_record")
    source = ImportRow.objects.filter(made_patient=patient).select_related("import_of").first()
    context = {"patient": patient, "treatments": treatments_of(patient), "source": source}
    return render(request, "imports/_for_patient.html", context)


def _import_or_404(pk: int) -> Import:
    people = ("uploaded_by", "begun_by", "undone_by")
    return get_object_or_404(Import.objects.select_related(*people), pk=pk)

"""Looks at records that the owner asks about."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.policy.queries import current_policy
from clinic.staff.models import User
from records.record_access.enums import Mark
from records.record_access.errors import RecordAccessError
from records.record_access.forms import MarkForm, OwnRecordForm, SameForm
from records.record_access.models import AccessLook
from records.record_access.queries.findings import asked, findings_shown, namesakes
from records.record_access.services.looking import look
from records.record_access.services.marking import mark_findings
from records.record_access.services.staff_patients import say_whether_same
from records.record_access.views.accesses import person_page

FINDINGS_PER_PAGE = 25


@allow(Role.OWNER)
@require_http_methods(["GET", "POST"])
def unusual_access(request: HttpRequest) -> HttpResponse:
    """The open questions, those explained or the concerns; answers one or several at once."""
    mark = _mark(request.GET.get("show", ""))
    before = request.GET.get("before", "")
    found = findings_shown(mark=mark, before=int(before) if _is_number(before) else None)
    page = list(found[: FINDINGS_PER_PAGE + 1])
    shown = page[:FINDINGS_PER_PAGE]
    form = None
    if request.method == "POST":
        form = MarkForm(request.POST, shown=_sent(request))
        if form.is_valid() and _answered(request, form):
            return redirect(request.get_full_path())
    seen = AccessLook.objects.filter(pk=1).first()
    context = {
        "asked": asked(shown),
        "mark": mark,
        "marks": list(Mark),
        "form": form,
        "chosen": set(map(int, _sent(request))) if form else set(),
        "next_before": shown[-1].pk if len(page) > FINDINGS_PER_PAGE else None,
        "is_first_page": not before,
        "namesakes": namesakes(),
        "seen": seen,
        "policy": current_policy(),
    }
    return render(request, "record_access/findings.html", context, status=422 if form else 200)


def _answered(request: HttpRequest, form: MarkForm) -> bool:
    answer = form.cleaned_data
    try:
        count = mark_findings(
            pks=answer["finding"],
            mark=Mark(answer["mark"]),
            words=answer["words"],
            actor=request.user,  # type: ignore[arg-type]
        )
    except RecordAccessError as error:
        form.add_error("finding", str(error))
        return False
    messages.success(request, "Answered." if count == 1 else f"{count} answered.")
    return True


def _sent(request: HttpRequest) -> list[int]:
    """The numbers that were ticked; whether they are there, the service says."""
    return [int(text) for text in request.POST.getlist("finding") if _is_number(text)]


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) <= 18


def _mark(text: str) -> Mark:
    return Mark(text) if text in set(map(str, Mark)) else Mark.OPEN


@allow(Role.OWNER)
@require_POST
def look_now(request: HttpRequest) -> HttpResponse:
    """What the worker does once an hour, now."""
    count = look()
    found = f"{count} new question{'' if count == 1 else 's'}." if count else "Nothing new."
    messages.success(request, f"Looked at every hour and day that is over. {found}")
    return redirect("unusual-access")


@allow(Role.OWNER)
@require_POST
def say_same(request: HttpRequest) -> HttpResponse:
    """Whether a member of staff and a patient of the same name are one person."""
    form = SameForm(request.POST)
    if not form.is_valid():
        messages.error(request, "Choose again: this person or patient is not there.")
    else:
        _say(request, form.cleaned_data)
    person = request.POST.get("back", "")
    if _is_number(person) and User.objects.filter(pk=person).exists():
        return redirect("record-access-person", person)
    return redirect("unusual-access")


def _say(request: HttpRequest, said: dict) -> None:
    try:
        say_whether_same(**said, actor=request.user)  # type: ignore[arg-type]
    except RecordAccessError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, "Noted.")


@allow(Role.OWNER)
@require_POST
def own_record(request: HttpRequest, pk: int) -> HttpResponse:
    """Note which patient's record is a member of staff's own."""
    person = get_object_or_404(User, pk=pk)
    form = OwnRecordForm(request.POST)
    if form.is_valid():
        try:
            say_whether_same(
                person=person,
                patient=form.cleaned_data["record_number"],
                is_same=True,
                actor=request.user,  # type: ignore[arg-type]
            )
        except RecordAccessError as error:
            form.add_error("record_number", str(error))
        else:
            messages.success(request, "Noted.")
            return redirect("record-access-person", pk)
    return person_page(request, person, form, status=422)

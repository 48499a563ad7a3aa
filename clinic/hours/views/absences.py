"""When people and rooms are away."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.hours.errors import AlreadyAway
from clinic.hours.forms.absences import AbsenceForm
from clinic.hours.models import Absence
from clinic.hours.queries import LISTED_FOR
from clinic.hours.services import remove_absence, save_absence

_REMOVED = (
    "Somebody removed this absence while the page was open. Save again to add it anew, or leave it."
)


@allow(Role.OWNER)
@require_GET
def absence_list(request):
    """Those of people and of rooms that are not over, and those of the past year."""
    now = timezone.now()
    absences = Absence.objects.select_related("person", "room__site")
    over = absences.filter(ends_at__lte=now, ends_at__gt=now - LISTED_FOR)
    context = {"absences": absences.filter(ends_at__gt=now), "over": over.order_by("-starts_at")}
    return render(request, "hours/absence_list.html", context)


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def absence_create(request):
    """For whom the address names, if it does: "person-3"."""
    return _absence_form(request, Absence(), initial={"who": request.GET.get("who", "")})


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def absence_edit(request, pk):
    """What is sent for one that somebody removed meanwhile becomes a new one, if sent again."""
    absence = Absence.objects.select_related("person", "room__site").filter(pk=pk).first()
    if absence is not None:
        return _absence_form(request, absence)
    if request.method != "POST":
        raise Http404
    form = AbsenceForm(request.POST, instance=Absence())
    form.add_error(None, _REMOVED)
    form.helper.form_action = reverse("absence-create")
    return _page(request, form, is_new=True)


@allow(Role.OWNER)
@require_POST
def absence_remove(request, pk):
    remove_absence(absence=get_object_or_404(Absence, pk=pk), actor=request.user)
    messages.success(request, "The absence is removed.")
    return redirect("absence-list")


def _absence_form(request, absence, **options):
    is_new = absence.pk is None
    form = AbsenceForm(request.POST or None, instance=absence, **options)
    if request.method == "POST" and form.is_valid():
        absence = form.save(commit=False)
        try:
            save_absence(absence=absence, actor=request.user)
        except AlreadyAway as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, _saved_in_words(absence))
            return redirect("absence-list")
    return _page(request, form, is_new=is_new)


def _saved_in_words(absence) -> str:
    if absence.ends_at > timezone.now():
        return "The absence is saved."
    return "The absence is saved. It is over, and is listed under “Past absences”."


def _page(request, form, *, is_new):
    context = {"form": form, "is_new": is_new}
    status = 422 if form.errors else 200
    return render(request, "hours/absence_form.html", context, status=status)

"""When people and rooms are away."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.hours.forms.absences import AbsenceForm
from clinic.hours.models import Absence
from clinic.hours.services import remove_absence, save_absence


@allow(Role.OWNER)
@require_GET
def absence_list(request):
    """Those of people and of rooms that are not over."""
    absences = Absence.objects.filter(ends_at__gt=timezone.now())
    context = {"absences": absences.select_related("person", "room__site")}
    return render(request, "hours/absence_list.html", context)


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def absence_create(request):
    """For whom the address names, if it does: "person-3"."""
    return _absence_form(request, Absence(), initial={"who": request.GET.get("who", "")})


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def absence_edit(request, pk):
    absences = Absence.objects.select_related("person", "room__site")
    return _absence_form(request, get_object_or_404(absences, pk=pk))


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
        save_absence(absence=form.save(commit=False), actor=request.user)
        messages.success(request, "The absence is saved.")
        return redirect("absence-list")
    context = {"form": form, "is_new": is_new}
    status = 422 if form.errors else 200
    return render(request, "hours/absence_form.html", context, status=status)

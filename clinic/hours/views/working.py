"""Working hours: everybody's week, one person's, and the acts that change them."""

from datetime import timedelta
from functools import partial

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.hours.errors import HoursOverlap, NothingToCopy
from clinic.hours.forms.working import ChangeForm, CopyForm, EndForm, HoursForm
from clinic.hours.models import WEEKDAYS, WorkingTime
from clinic.hours.queries import DEFAULT_HOURS, week_of, weeks
from clinic.hours.services import (
    add_working_times,
    change_working_time,
    copy_day,
    end_working_time,
)
from clinic.sites.models import Site
from clinic.staff.models import User


@allow(Role.OWNER)
@require_GET
def hours_list(request):
    """The week of everybody who is booked."""
    today = timezone.localdate()
    context = {"weeks": weeks(today), "weekdays": WEEKDAYS, "default_hours": DEFAULT_HOURS}
    return render(request, "hours/list.html", context)


@allow(Role.OWNER)
@require_GET
def hours_detail(request, pk):
    """One person's week, with what ended before and what begins later."""
    person = get_object_or_404(User, pk=pk)
    today = timezone.localdate()
    context = {
        "person": person,
        "week": week_of(person, today),
        "today": today,
        "ended": person.working_times.filter(until_on__lt=today).select_related("site"),
        "has_sites": Site.objects.in_use().exists(),
        "default_hours": DEFAULT_HOURS,
    }
    return render(request, "hours/detail.html", context)


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def hours_add(request, pk):
    person = get_object_or_404(User, pk=pk)
    asked = request.GET.get("weekday", "")
    initial = {"weekdays": [asked]} if asked else {}
    form = HoursForm(request.POST or None, person=person, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            add = partial(add_working_times, times=form.rows(), actor=request.user)
            if form.goes_through(add, whose=person):
                messages.success(request, f"The hours of {person} are added.")
                return redirect("hours-detail", pk=pk)
        except HoursOverlap as error:
            form.add_error(None, str(error))
    return _form_page(request, form, person, "Add hours")


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def hours_copy(request, pk):
    """The hours of one weekday for others."""
    person = get_object_or_404(User, pk=pk)
    today = timezone.localdate()
    rows = person.working_times.not_over_by(today).order_by("weekday")
    weekdays = list(dict.fromkeys(rows.values_list("weekday", flat=True)))
    initial = {"weekday": request.GET.get("weekday", "")}
    form = CopyForm(request.POST or None, weekdays=weekdays, initial=initial)
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        copy = partial(
            copy_day, person=person, weekday=typed["weekday"], to=typed["to"],
            from_on=typed["copied_from"], actor=request.user,
        )  # fmt: skip
        try:
            if form.goes_through(copy, whose=person):
                messages.success(request, "The day is copied.")
                return redirect("hours-detail", pk=pk)
        except (HoursOverlap, NothingToCopy) as error:
            form.add_error(None, str(error))
    return _form_page(request, form, person, "Copy a day")


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def working_time_edit(request, pk):
    """Change one span from a day on, or end it."""
    row = get_object_or_404(WorkingTime.objects.select_related("person", "site"), pk=pk)
    form = ChangeForm(request.POST or None, instance=row)
    title = f"{row.get_weekday_display()} {row.starts:%H:%M} to {row.ends:%H:%M}"
    if request.method == "POST" and form.is_valid():
        time = form.save(commit=False)
        change = partial(change_working_time, time=time, actor=request.user)
        try:
            if form.goes_through(change, whose=row.person):
                messages.success(request, f"The hours of {row.person} are saved.")
                return redirect("hours-detail", pk=row.person_id)
        except HoursOverlap as error:
            form.add_error(None, str(error))
    return _form_page(request, form, row.person, title, time_pk=pk)


@allow(Role.OWNER)
@require_POST
def working_time_end(request, pk):
    """Not worked from today on; what was worked before stays."""
    row = get_object_or_404(WorkingTime.objects.select_related("person"), pk=pk)
    yesterday = timezone.localdate() - timedelta(days=1)
    form = EndForm(request.POST)
    end = partial(end_working_time, time=row, last_on=yesterday, actor=request.user)
    if form.is_valid() and form.goes_through(end, whose=row.person):
        messages.success(request, "These hours are not worked from today on.")
        return redirect("hours-detail", pk=row.person_id)
    return _form_page(request, form, row.person, f"End {row}")


def _form_page(request, form, person, title, **context):
    status = 422 if form.errors else 200
    context |= {"form": form, "person": person, "title": title}
    return render(request, "hours/form.html", context, status=status)

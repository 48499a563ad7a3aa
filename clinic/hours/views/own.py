"""What is set for oneself: the owner changes it."""

from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.hours.models import Absence
from clinic.hours.queries import DEFAULT_HOURS, week_of


@allow(Role.INJECTOR)
@require_GET
def own_hours(request):
    """One's own week, with what begins later, and one's absences that are not over."""
    now, today = timezone.now(), timezone.localdate()
    context = {
        "week": week_of(request.user, today),
        "today": today,
        "default_hours": DEFAULT_HOURS,
        "absences": Absence.objects.filter(person=request.user, ends_at__gt=now),
    }
    return render(request, "hours/own.html", context)

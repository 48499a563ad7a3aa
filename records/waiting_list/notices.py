"""What a page says when somebody let go of a time that others wait for."""

from django.contrib import messages
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.utils import timezone

from records.appointments.models import Appointment
from records.waiting_list.models import FreedTime
from records.waiting_list.queries.matching import open_time


def tell(request: HttpRequest, appointment: Appointment) -> None:
    """Say how many people wait for the time that the appointment let go of last."""
    freed = (
        FreedTime.objects.filter(appointment=appointment, starts_at__gt=timezone.now())
        .select_related("practitioner", "appointment")
        .order_by("-freed_at")
        .first()
    )
    if freed is None:
        return
    matches = open_time(freed).matches
    if matches:
        context = {"freed": freed, "matches": matches}
        messages.info(request, render_to_string("waiting_list/_notice.html", context, request))

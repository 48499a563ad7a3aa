"""What a tablet keeps for the day."""

from django.http import HttpRequest, JsonResponse
from django.utils import timezone
from django.views.decorators.http import require_GET

from clinic.access.enums import Role
from clinic.access.rules import allow
from records.charting.queries.day import day_json, day_patients
from records.charting.services.reads import note_day_read


@allow(Role.INJECTOR)
@require_GET
def charting_day(request: HttpRequest) -> JsonResponse:
    """The user's patients of today with what treating them needs; each read is in the trail."""
    today = timezone.localdate()
    patients = day_patients(request.user, today)
    note_day_read(request.user, patients, today)
    return JsonResponse(day_json(request.user, patients, today))

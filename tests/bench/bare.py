"""
What the real endpoint is measured against: a view that stores one point and does nothing else.

No session is read, no token checked, nobody is asked for permission, nothing is written to the
audit trail and nothing is looked up; the middleware it passes through does its work only when
asked. The database's own rules apply to both.
"""

import json

from django.http import HttpRequest, JsonResponse
from django.urls import include, path
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt

from clinic.access.rules import public
from records.sessions.models import InjectionEntry


@public
@csrf_exempt
def insert_point(request: HttpRequest) -> JsonResponse:
    """Store the row that was sent, column by column."""
    row = json.loads(request.body)
    point = InjectionEntry.objects.create(tapped_at=timezone.now(), **row)
    return JsonResponse({"id": point.pk})


urlpatterns = [path("bench/insert/", insert_point), path("", include("clinic.urls"))]

"""
What the real endpoint is measured against: a view that inserts one row and does nothing else.

No session is read, no token checked, nobody is asked for permission, nothing is looked up and
nothing is written to the audit trail. The row is as wide as a point, in a table without foreign
keys, triggers or further indexes. Both views pass through the same middleware, which does its work
only when asked.
"""

import json

from django.db import models
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.urls import include, path
from django.views.decorators.csrf import csrf_exempt

from clinic.access.rules import public


class BareRow(models.Model):
    """A row with the columns of a point (`records.sessions.models.InjectionEntry`)."""

    key = models.UUIDField()
    session_id = models.BigIntegerField()
    head = models.UUIDField(null=True)
    number = models.SmallIntegerField()
    unit_id = models.BigIntegerField()
    view = models.CharField(max_length=10)
    x_dmm = models.SmallIntegerField()
    y_dmm = models.SmallIntegerField()
    reach_x_dmm = models.SmallIntegerField(null=True)
    reach_y_dmm = models.SmallIntegerField(null=True)
    picture_id = models.BigIntegerField(null=True)
    marking_id = models.BigIntegerField(null=True)
    chart_version = models.CharField(max_length=10)
    region = models.CharField(max_length=40)
    side = models.CharField(max_length=10)
    relative_x_permille = models.SmallIntegerField()
    relative_y_permille = models.SmallIntegerField()
    plane = models.CharField(max_length=20)
    technique = models.CharField(max_length=20)
    instrument = models.CharField(max_length=10)
    gauge = models.SmallIntegerField(null=True)
    length_mm = models.SmallIntegerField(null=True)
    aspiration = models.CharField(max_length=10)
    amount = models.BigIntegerField()
    deviation = models.CharField(max_length=300)
    tapped_at = models.DateTimeField()
    logged_at = models.DateTimeField(auto_now_add=True)
    logged_by_id = models.BigIntegerField()
    removed_at = models.DateTimeField(null=True)

    class Meta:
        app_label = "records"
        db_table = "bench_bare_row"
        managed = False

    def __str__(self) -> str:
        return f"{self.pk}"


@public
@csrf_exempt
def insert_row(request: HttpRequest) -> JsonResponse:
    """Store the row that was sent, column by column."""
    row = BareRow.objects.create(**json.loads(request.body))
    return JsonResponse({"id": row.pk})


@public
def empty(request: HttpRequest) -> HttpResponse:
    """What every answer costs at the least: all middleware, and nothing else."""
    return HttpResponse()


urlpatterns = [
    path("bench/insert/", insert_row),
    path("bench/empty/", empty),
    path("", include("clinic.urls")),
]

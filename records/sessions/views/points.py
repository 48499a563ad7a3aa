"""Logging, changing, moving and removing points from the charting screen."""

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from planning.amounts import format_amount
from planning.vocabulary import Measure
from records.sessions.errors import PointConflict
from records.sessions.forms.points import NewPointForm, PlaceForm, PointForm, sentence
from records.sessions.models import InjectionEntry, TreatmentSession
from records.sessions.services.points import change_point, log_point, move_point, remove_point
from records.sessions.views.charting import REFUSALS, fragments, own_session, refused


@allow(Role.INJECTOR)
@require_POST
def point_log(request: HttpRequest, pk: int) -> HttpResponse:
    """Store a point once; the answer holds the screen's parts as they are now."""
    session = own_session(request, pk)
    form = NewPointForm(request.POST, session=session)
    if not form.is_valid():
        return refused(sentence(form))
    try:
        point = log_point(
            session=session,
            key=form.cleaned_data["key"],
            details=form.details,
            tapped_at=form.cleaned_data["tapped_at"],
            actor=request.user,
        )
    except PointConflict as error:
        return refused(str(error), 409)
    except REFUSALS as error:
        return refused(str(error))
    return fragments(request, session, f"{_described(point)} Stored.")


@allow(Role.INJECTOR)
@require_POST
def point_change(request: HttpRequest, pk: int, key: uuid.UUID) -> HttpResponse:
    session = own_session(request, pk)
    point = _point(session, key)
    form = PointForm(request.POST, session=session)
    if not form.is_valid():
        return refused(sentence(form))
    try:
        point = change_point(point=point, details=form.details, actor=request.user)
    except REFUSALS as error:
        return refused(str(error))
    return fragments(request, session, f"{_described(point)} Changed.")


@allow(Role.INJECTOR)
@require_POST
def point_move(request: HttpRequest, pk: int, key: uuid.UUID) -> HttpResponse:
    session = own_session(request, pk)
    point = _point(session, key)
    form = PlaceForm(request.POST)
    if not form.is_valid():
        return refused(sentence(form))
    try:
        point = move_point(point=point, actor=request.user, **form.cleaned_data)
    except REFUSALS as error:
        return refused(str(error))
    return fragments(request, session, f"{_described(point)} Moved.")


@allow(Role.INJECTOR)
@require_POST
def point_remove(request: HttpRequest, pk: int, key: uuid.UUID) -> HttpResponse:
    session = own_session(request, pk)
    point = _point(session, key)
    try:
        remove_point(point=point, actor=request.user)
    except REFUSALS as error:
        return refused(str(error))
    return fragments(request, session, f"Point {point.number} removed.")


def _point(session: TreatmentSession, key: uuid.UUID) -> InjectionEntry:
    return get_object_or_404(
        InjectionEntry.objects.select_related("unit__lot__product"), session=session, key=key
    )


def _described(point: InjectionEntry) -> str:
    amount = format_amount(point.amount, Measure(point.measure))
    side = point.get_side_display().lower()
    return f"Point {point.number}: {point.region_label}, {side}, {amount}."

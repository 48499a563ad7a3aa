"""The tray of the charting screen: open a unit, put one back, record waste."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from planning.amounts import format_amount
from planning.vocabulary import Measure
from records.sessions.forms.points import sentence
from records.sessions.forms.tray import OpenUnitForm, WasteForm
from records.sessions.models import SessionUnit
from records.sessions.queries.tray import opened_candidates, sealed_shelves
from records.sessions.services.tray import put_on_tray, record_waste, take_off_tray
from records.sessions.views.charting import REFUSALS, fragments, own_session, refused


@allow(Role.INJECTOR)
@require_GET
def tray_choices(request: HttpRequest, pk: int) -> HttpResponse:
    """Fragment: what could be opened, first expired first, and what is open already."""
    session = own_session(request, pk)
    context = {
        "session": session,
        "opened": opened_candidates(session),
        "shelves": sealed_shelves(session),
        "form": OpenUnitForm(),
    }
    return render(request, "sessions/_choices.html", context)


@allow(Role.INJECTOR)
@require_POST
def tray_open(request: HttpRequest, pk: int) -> HttpResponse:
    session = own_session(request, pk)
    form = OpenUnitForm(request.POST)
    if not form.is_valid():
        return refused(sentence(form))
    unit = form.cleaned_data["unit"]
    try:
        put_on_tray(
            session=session,
            unit=unit,
            actor=request.user,
            diluent_ul=form.cleaned_data["diluent"],
            deviation=form.cleaned_data["deviation"],
        )
    except REFUSALS as error:
        return refused(str(error), 409)
    return fragments(request, session, f"Unit {unit.label}, {unit.lot.product}, is on the tray.")


@allow(Role.INJECTOR)
@require_POST
def tray_put_back(request: HttpRequest, pk: int, unit_pk: int) -> HttpResponse:
    session = own_session(request, pk)
    unit = _on_tray(session, unit_pk).unit
    try:
        take_off_tray(session=session, unit=unit, actor=request.user)
    except REFUSALS as error:
        return refused(str(error), 409)
    return fragments(request, session, f"Unit {unit.label} is off the tray.")


@allow(Role.INJECTOR)
@require_POST
def tray_waste(request: HttpRequest, pk: int, unit_pk: int) -> HttpResponse:
    session = own_session(request, pk)
    unit = _on_tray(session, unit_pk).unit
    measure = Measure(unit.measure)
    form = WasteForm(request.POST, measure=measure)
    if not form.is_valid():
        return refused(sentence(form))
    try:
        record_waste(session=session, unit=unit, actor=request.user, **form.cleaned_data)
    except REFUSALS as error:
        return refused(str(error), 409)
    amount = format_amount(form.cleaned_data["amount"], measure)
    return fragments(request, session, f"{amount} from unit {unit.label} recorded as waste.")


def _on_tray(session, unit_pk: int) -> SessionUnit:
    return get_object_or_404(
        SessionUnit.objects.select_related("unit__lot__product"), session=session, unit=unit_pk
    )

"""Pages of the stock: lots and units."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, allow
from clinic.audit.queries import changes_of
from clinic.audit.wording import told
from clinic.places.queries import place_names
from clinic.policy.queries import current_policy
from clinic.products.models import Product
from clinic.stock.enums import MovementKind
from clinic.stock.errors import StockError
from clinic.stock.forms import ReasonForm, StockFilterForm, TakeOutForm
from clinic.stock.models import Lot, UnitOfStock
from clinic.stock.queries import (
    expiry_days,
    ledger_rows,
    lot_rows,
    lots_shown,
    stock_overview,
)
from clinic.stock.services import discard_remainder, take_out_of_stock
from planning.amounts import format_amount

LOTS_PER_PAGE = UNITS_PER_PAGE = 50


@allow(*CLINICAL)
@require_GET
def stock_list(request):
    """Lots by product, first expired first, with how many units are on hand."""
    days = expiry_days(current_policy(), timezone.localdate())
    form = StockFilterForm(request.GET)
    text, show = form.chosen
    lots = lots_shown(text, show, days)
    page = Paginator(lots, LOTS_PER_PAGE).get_page(request.GET.get("page"))
    overview = stock_overview(days)
    context = {
        "form": form,
        "page_obj": page,
        "rows": lot_rows(page.object_list, days),
        "overview": overview,
        "urgent_note": f"{overview['urgent']:,} urgent",
        "days": days,
        "is_filtered": bool(text or request.GET.get("show")),
        "products": Product.objects.filter(is_active=True),
    }
    return render(request, "stock/stock_list.html", context)


@allow(*CLINICAL)
@require_GET
def lot_detail(request, pk):
    """One lot: its units and its history."""
    return lot_page(request, lot_or_404(pk))


def lot_or_404(pk) -> Lot:
    return get_object_or_404(Lot.objects.select_related("product"), pk=pk)


def lot_page(request, lot, *, open_dialog="", form=None, status=200):
    """The lot's page; a form that came back with an error shows its dialog open."""
    days = expiry_days(current_policy(), timezone.localdate())
    units = UnitOfStock.objects.filter(lot=lot)
    page, names = Paginator(units, UNITS_PER_PAGE).get_page(request.GET.get("page")), place_names()
    context = {
        "lot": lot,
        "row": lot_rows([lot], days)[0],
        "page_obj": page,
        "units": [(unit, names.get(unit.place_id, "")) for unit in page],
        "history": told(changes_of(lot)[:20]),
        "form": form or ReasonForm(),
        "open_quarantine": open_dialog == "quarantine",
        "open_release": open_dialog == "release",
    }
    return render(request, "stock/lot_detail.html", context, status=status)


@allow(*CLINICAL)
@require_GET
def unit_detail(request, pk):
    """The life of one unit: its ledger, and by another page's fragment the points drawn from it."""
    return _unit_page(request, _unit(pk))


@allow(Role.OWNER)
@require_POST
def unit_take_out(request, pk):
    """Return an unopened unit to the supplier, or write it off."""
    unit, form = _unit(pk), TakeOutForm(request.POST)
    if not form.is_valid():
        return _unit_page(request, unit, take_out_form=form, status=422)
    kind, reason = MovementKind(form.cleaned_data["kind"]), form.cleaned_data["reason"]
    try:
        take_out_of_stock(unit=unit, kind=kind, reason=reason, actor=request.user)
    except StockError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"Unit {unit.label}: {kind.label.lower()}.")
    return redirect("unit-detail", pk=unit.pk)


@allow(*CLINICAL)
@require_POST
def unit_discard(request, pk):
    """Throw away what is left in an opened unit."""
    unit, form = _unit(pk), ReasonForm(request.POST)
    if not form.is_valid():
        return _unit_page(request, unit, discard_form=form, status=422)
    try:
        movement = discard_remainder(
            unit=unit, reason=form.cleaned_data["reason"], actor=request.user
        )
    except StockError as error:
        messages.error(request, str(error))
    else:
        shown = format_amount(movement.amount, unit.measure)
        messages.success(request, f"Unit {unit.label}: {shown} recorded as waste.")
    return redirect("unit-detail", pk=unit.pk)


def _unit(pk) -> UnitOfStock:
    return get_object_or_404(UnitOfStock.objects.with_lot().select_related("place__site"), pk=pk)


def _unit_page(request, unit, *, take_out_form=None, discard_form=None, status=200):
    """The unit's page; a form that came back with an error shows its dialog open."""
    today = timezone.localdate()
    context = {
        "unit": unit,
        "lot": unit.lot,
        "is_expired": unit.lot.is_expired(today),
        "ledger": ledger_rows(unit),
        "form": take_out_form or TakeOutForm(),
        "discard_form": discard_form or ReasonForm(),
    }
    return render(request, "stock/unit_detail.html", context, status=status)

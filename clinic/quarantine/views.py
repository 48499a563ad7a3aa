"""Stopping lots and units, what is stopped, and the list by which they are pulled."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.camera import reads_codes
from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, allow
from clinic.audit.services import record_read
from clinic.policy.queries import current_policy
from clinic.printing.documents import document_html
from clinic.printing.pdf import render_pdf
from clinic.products.models import Product
from clinic.quarantine.errors import QuarantineError
from clinic.quarantine.forms import QuarantineForm
from clinic.quarantine.models import Quarantine
from clinic.quarantine.queries import quarantines_of, reach_of, standing_quarantines
from clinic.quarantine.services import (
    lift_quarantine,
    place_quarantine,
    quarantine_lot,
    release_lot,
)
from clinic.stock.errors import StockError
from clinic.stock.forms import ReasonForm
from clinic.stock.views import lot_or_404, lot_page
from planning.scan import Scan, read_scan

LIFTED_PER_PAGE = 25


@allow(*CLINICAL)
@require_GET
def quarantine_list(request):
    """What is stopped now, and what was."""
    lifted = Quarantine.objects.filter(lifted_at__isnull=False)
    lifted = lifted.select_related("product", "lifted_by").order_by("-lifted_at")
    context = {
        "standing": standing_quarantines(),
        "page_obj": Paginator(lifted, LIFTED_PER_PAGE).get_page(request.GET.get("page")),
    }
    return render(request, "quarantine/quarantine_list.html", context)


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
@reads_codes
def quarantine_create(request):
    """
    Stop a lot, a range or a product: what it reaches is shown before it is meant.

    A code in the scan field is read first; the rest of the form stays as it was typed.
    """
    if text := request.POST.get("scan", "").strip():
        return _filled_by_scan(request, text)
    form = QuarantineForm(request.POST or None, initial=request.GET.dict())
    reach = None
    if request.method == "POST" and form.is_valid():
        if form.is_confirmed:
            try:
                placed = place_quarantine(quarantine=form.quarantine, actor=request.user)
            except QuarantineError as error:
                form.add_error(None, str(error))
            else:
                messages.success(request, f"{placed} cannot be opened from now on.")
                return redirect("quarantine-detail", pk=placed.pk)
        reach = reach_of(form.quarantine)
    return render(request, "quarantine/quarantine_form.html", {"form": form, "reach": reach})


def _filled_by_scan(request, text: str):
    scan = read_scan(text, today=timezone.localdate())
    product = Product.objects.filter(gtin=scan.gtin).first() if scan.gtin else None
    typed = request.POST.dict()
    if product:
        typed |= {"product": product.pk, "lot_first": scan.lot, "lot_last": ""}
    context = {
        "form": QuarantineForm(initial=typed),
        "scan": None if scan.error or not product else scan,
        "scan_error": scan.error or ("" if product else _no_product(scan)),
        "scan_text": "" if product else text,
    }
    return render(request, "quarantine/quarantine_form.html", context)


def _no_product(scan: Scan) -> str:
    if scan.gtin:
        return f"No product has the GTIN {scan.gtin}: nothing of it was ever received."
    return "This code names no product: choose it below and type the lot as it is printed."


@allow(*CLINICAL)
@require_GET
def quarantine_detail(request, pk):
    """One quarantine: what it holds, and where its units lie."""
    return _page(request, _quarantine(pk))


@allow(Role.OWNER)
@require_POST
def quarantine_lift(request, pk):
    """End it; what another one still holds stays held."""
    quarantine, form = _quarantine(pk), ReasonForm(request.POST)
    if not form.is_valid():
        return _page(request, quarantine, lift_form=form, status=422)
    try:
        lift_quarantine(
            quarantine=quarantine, reason=form.cleaned_data["reason"], actor=request.user
        )
    except StockError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, "The quarantine is lifted.")
    return redirect("quarantine-detail", pk=quarantine.pk)


@allow(*CLINICAL)
@require_GET
def quarantine_pull_list(request, pk):
    """The units on hand, place by place, to be ticked off while they are pulled."""
    quarantine = _quarantine(pk)
    record_read(request.user, quarantine, action="quarantine.printed")
    context = {
        "quarantine": quarantine,
        "reach": reach_of(quarantine),
        "policy": current_policy(),
        "printed_at": timezone.now(),
        "printed_by": request.user.full_name,
    }
    pdf = render_pdf(document_html("print/pull_list.html", context))
    name = f"pull-list-{quarantine.pk}.pdf"
    headers = {"Content-Disposition": f'inline; filename="{name}"'}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


@allow(*CLINICAL)
@require_GET
def quarantine_for_lot(request, pk):
    """Panel of a lot's page: the quarantines that reach it."""
    lot = lot_or_404(pk)
    context = {"lot": lot, "quarantines": quarantines_of(lot)}
    return render(request, "quarantine/_for_lot.html", context)


def _quarantine(pk) -> Quarantine:
    people = Quarantine.objects.select_related("product", "placed_by", "lifted_by")
    return get_object_or_404(people, pk=pk)


def _page(request, quarantine: Quarantine, *, lift_form=None, status=200):
    """The page of one; a form that came back with an error shows its dialog open."""
    context = {
        "quarantine": quarantine,
        "reach": None if quarantine.is_lifted else reach_of(quarantine),
        "form": lift_form or ReasonForm(),
    }
    return render(request, "quarantine/quarantine_detail.html", context, status=status)


@allow(Role.OWNER)
@require_POST
def lot_quarantine(request, pk):
    return _with_reason(
        request, lot_or_404(pk), quarantine_lot, "quarantine", "is in quarantine now."
    )


@allow(Role.OWNER)
@require_POST
def lot_release(request, pk):
    return _with_reason(request, lot_or_404(pk), release_lot, "release", "is released.")


def _with_reason(request, lot, act, dialog, done):
    """
    Do `act` for the reason typed; without one the dialog comes back open.

    Where somebody else was faster there is nothing left to do, and the page says what it found.
    """
    form = ReasonForm(request.POST)
    if not form.is_valid():
        return lot_page(request, lot, open_dialog=dialog, form=form, status=422)
    try:
        act(lot=lot, reason=form.cleaned_data["reason"], actor=request.user)
    except StockError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"Lot {lot.number} {done}")
    return redirect("lot-detail", pk=lot.pk)

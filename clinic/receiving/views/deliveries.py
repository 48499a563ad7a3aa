"""Taking a delivery into stock, scanned or typed, and the labels it was given."""

from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from django_htmx.http import HttpResponseClientRedirect

from clinic.access.camera import reads_codes
from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.policy.queries import current_policy
from clinic.printing.documents import document_html
from clinic.printing.pdf import render_pdf
from clinic.products.models import Product
from clinic.receiving.drafts import Delivery, Read, is_blank, new_key
from clinic.receiving.errors import CodeRefused, LineRefused
from clinic.receiving.forms.deliveries import line_forms, units_in
from clinic.receiving.models import Receipt
from clinic.receiving.queries import labels_of
from clinic.receiving.services import receive_once
from clinic.scanning.queries import Pack, find_pack
from planning.scan import read_scan

RECEIPTS_SHOWN = 5


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
@reads_codes
def receiving(request):
    """
    A delivery of one or many lots; every unit gets a label of its own.

    Each code is sent with the whole form and comes back as a line of it. What is not received yet
    is kept for this person, so that the way to a new product and back loses nothing.
    """
    if request.method == "POST":
        return _sent(request)
    delivery = Delivery.kept(request)
    if code := request.GET.get("scan", "").strip():
        # From the page that shows what a code says, or back from a new product. Not twice: what is
        # in the address would be added again when the page is loaded again.
        delivery.told.clear()
        delivery.read(code, today=timezone.localdate())
        delivery.keep(request)
        return redirect("receiving")
    if product := request.GET.get("product", ""):
        delivery.add_line(product=product)
    return _page(request, delivery)


def _sent(request):
    delivery, act = Delivery.of_form(request.POST), request.POST.get("act", "")
    today, codes = timezone.localdate(), request.POST.getlist("scan")
    for code in filter(str.strip, codes):
        delivery.read(code, today=today)
    if act == "receive" and not delivery.told:
        return _received(request, delivery)
    problem = "A code was still in the field. Look at what it added, then receive." if (
        act == "receive"
    ) else _changed(delivery, act)  # fmt: skip
    delivery.keep(request)
    if code := request.POST.get("new_product", ""):
        return _to_new_product(request, code)
    return _page(request, delivery, problem=problem)


def _changed(delivery: Delivery, act: str) -> str:
    """Add or remove a line; what is wrong, or ""."""
    verb, _, index = act.partition("-")
    if verb == "remove" and index.isdecimal() and int(index) < len(delivery.lines):
        del delivery.lines[int(index)]
    elif verb == "add":
        try:
            delivery.add_line()
        except CodeRefused as error:
            return str(error)
    return ""


def _received(request, delivery: Delivery):
    """Take it into the stock, or say on its lines what is in the way."""
    delivery.lines = [line for line in delivery.lines if not is_blank(line)]
    if not delivery.lines:
        words = "Nothing to receive: scan a box, or fill in a line."
        return _page(request, delivery, problem=words)
    lines = line_forms(delivery, is_meant=True)
    if lines.is_valid():
        try:
            receipt, is_new = receive_once(
                key=delivery.key, lines=[form.line for form in lines], actor=request.user
            )
        except LineRefused as error:
            lines[error.index].add_error(None, str(error))
        else:
            if is_new or receipt.units == units_in(lines):
                Delivery.forget(request)
                return _to_labels(request, receipt, is_new=is_new)
            return _went_on(request, delivery, receipt)
    delivery.keep(request)
    return _page(request, delivery, lines=lines)


def _went_on(request, delivery: Delivery, receipt: Receipt):
    """It was received in another window, and gone on with in this one."""
    delivery.key = new_key()
    delivery.keep(request)
    words = (
        f"Nothing was received now: {receipt.units} units of this delivery are in the stock since "
        f"{timezone.localtime(receipt.at):%H:%M}. Remove the lines that are among them."
    )
    return _page(request, delivery, problem=words)


def _to_labels(request, receipt: Receipt, *, is_new: bool):
    if is_new:
        plural = "unit" if receipt.units == 1 else "units"
        messages.success(request, f"{receipt.units} {plural} received into stock.")
    else:
        messages.info(request, "This delivery was received already: here are its labels.")
    return _go(request, reverse("receiving-labels", kwargs={"pk": receipt.pk}))


def _to_new_product(request, code: str):
    """To the form of a product, with its number; it leads back here, where the code is added."""
    known = {"gtin": read_scan(code, today=timezone.localdate()).gtin}
    back = f"{reverse('receiving')}?{urlencode({'scan': code})}"
    return _go(request, f"{reverse('product-create')}?{urlencode(known | {'next': back})}")


def _go(request, url: str):
    return HttpResponseClientRedirect(url) if request.htmx else redirect(url)


def _page(request, delivery: Delivery, *, problem="", lines=None):
    """The whole page, or for htmx the part below the field for codes."""
    if not delivery.lines:
        delivery.add_line()
    lines = lines or line_forms(delivery)
    context = {
        "delivery": delivery,
        "lines": lines,
        "units": units_in(lines),
        "told": [(read, _pack(read)) for read in delivery.told],
        "problem": problem,
        "has_products": Product.objects.filter(is_active=True).exists(),
    }
    if request.htmx:
        return render(request, "receiving/_delivery.html", context)
    context["lately"] = Receipt.objects.select_related("by")[:RECEIPTS_SHOWN]
    return render(request, "receiving/receiving.html", context)


def _pack(read: Read) -> Pack:
    return find_pack(read_scan(read.text, today=timezone.localdate()))


@allow(Role.OWNER)
@require_POST
def receiving_discard(request):
    """Put a delivery aside that was begun; nothing of it was in the stock."""
    Delivery.forget(request)
    messages.success(request, "The delivery is put aside: nothing of it was received.")
    return redirect("receiving")


@allow(Role.OWNER)
@require_GET
def receiving_labels(request, pk):
    """The labels that a delivery was given, to be written on its boxes."""
    receipt = get_object_or_404(Receipt.objects.select_related("by"), pk=pk)
    context = {"receipt": receipt, "lots": labels_of(receipt)}
    return render(request, "receiving/labels.html", context)


@allow(Role.OWNER)
@require_GET
def receiving_labels_pdf(request, pk):
    """The same on paper: a field for each unit, to be cut out or copied from."""
    receipt = get_object_or_404(Receipt, pk=pk)
    context = {
        "receipt": receipt,
        "lots": labels_of(receipt),
        "policy": current_policy(),
        "printed_at": timezone.now(),
        "printed_by": request.user.full_name,
    }
    pdf = render_pdf(document_html("print/labels.html", context))
    headers = {"Content-Disposition": f'inline; filename="labels-{receipt.pk}.pdf"'}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)

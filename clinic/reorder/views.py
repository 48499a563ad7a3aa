"""What to order, as a page, a CSV file and a sheet by supplier."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_safe

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.policy.queries import current_policy
from clinic.printing.csv_files import csv_download
from clinic.printing.documents import document_html
from clinic.printing.pdf import render_pdf
from clinic.reorder.exports import orders_as_csv
from clinic.reorder.queries import due_rows, orders_by_supplier, reorder_rows
from planning.reorder import ORDER_LASTS_WEEKS
from planning.sources import REORDER_POINT


@allow(Role.OWNER)
@require_GET
def reorder(request):
    """Every product in use, what to order now first, each with the computation in words."""
    policy = current_policy()
    rows = reorder_rows(policy, timezone.now())
    context = {
        "rows": rows,
        "due": sum(row.is_due for row in rows),
        "policy": policy,
        "order_lasts_weeks": ORDER_LASTS_WEEKS,
        "source": REORDER_POINT,
    }
    return render(request, "reorder/reorder.html", context)


@allow(Role.OWNER)
@require_safe
def reorder_csv(request):
    """The order list."""
    rows = due_rows(current_policy(), timezone.now())
    return csv_download(f"order-{timezone.localdate():%Y-%m-%d}", orders_as_csv(rows))


@allow(Role.OWNER)
@require_safe
def reorder_pdf(request):
    """The order list by supplier, to be printed or sent."""
    policy, now = current_policy(), timezone.now()
    context = {
        "policy": policy,
        "orders": orders_by_supplier(due_rows(policy, now)),
        "printed_at": now,
        "printed_by": request.user,
    }
    pdf = render_pdf(document_html("print/order_list.html", context))
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = (
        f'inline; filename="order-{timezone.localdate():%Y-%m-%d}.pdf"'
    )
    return response

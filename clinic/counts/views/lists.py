"""The counts there were, starting one, and each one's page and sheet."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import (
    require_GET,
    require_http_methods,
    require_POST,
    require_safe,
)

from clinic.access.camera import reads_codes
from clinic.access.rules import CLINICAL, allow
from clinic.audit.services import record_read
from clinic.counts.enums import CountScope
from clinic.counts.errors import CountError, CountUnderWay
from clinic.counts.forms import StartForm
from clinic.counts.models import StockCount
from clinic.counts.queries import (
    counts_with_figures,
    lots_expected,
    posted_lines,
    results_by_lot,
)
from clinic.counts.services.counting import give_up, start_count
from clinic.counts.views.counting import counting_page
from clinic.policy.queries import current_policy
from clinic.printing.documents import document_html
from clinic.printing.pdf import render_pdf
from clinic.stock.forms import ReasonForm

COUNTS_PER_PAGE = 50


@allow(*CLINICAL)
@require_GET
def count_list(request):
    """Those under way, then those that are over, the newest first."""
    counts = counts_with_figures()
    over = Paginator(counts.over(), COUNTS_PER_PAGE).get_page(request.GET.get("page"))
    context = {"under_way": counts.under_way(), "page_obj": over}
    return render(request, "counts/count_list.html", context)


@allow(*CLINICAL)
@require_http_methods(["GET", "HEAD", "POST"])
def count_start(request):
    """Choose what is counted; a link may bring the place along, as `?place=`."""
    offered = {
        "scope": request.GET.get("scope", CountScope.PLACE),
        "place": request.GET.get("place"),
    }
    form = StartForm(request.POST or None, initial=offered)
    if request.method == "POST" and form.is_valid():
        scope, place = CountScope(form.cleaned_data["scope"]), form.cleaned_data["place"]
        try:
            count = start_count(scope=scope, place=place, actor=request.user)
        except CountUnderWay as error:
            messages.info(request, f"{error} This is that count.")
            return redirect("count-detail", pk=error.count.pk)
        except CountError as error:
            form.add_error("place", str(error))
        else:
            return redirect("count-detail", pk=count.pk)
    return render(request, "counts/count_start.html", {"form": form})


@allow(*CLINICAL)
@require_GET
@reads_codes
def count_detail(request, pk):
    """Where people count while it is under way; then what it came to."""
    count = _count(pk)
    if count.is_open:
        return counting_page(request, count)
    return render(request, "counts/count_result.html", _result(count))


def _result(count: StockCount) -> dict:
    return {"count": count, "lines": posted_lines(count), "results": results_by_lot(count)}


@allow(*CLINICAL)
@require_POST
@reads_codes
def count_give_up(request, pk):
    """End it without posting anything."""
    count, form = _count(pk), ReasonForm(request.POST)
    if not form.is_valid():
        return counting_page(request, count, give_up_form=form, status=422)
    try:
        give_up(count=count, reason=form.cleaned_data["reason"], actor=request.user)
    except CountError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"{count} is given up. It stays in the list.")
    return redirect("count-detail", pk=count.pk)


@allow(*CLINICAL)
@require_safe
def count_pdf(request, pk):
    """A sheet to count on while it is under way; its result when it is over."""
    count = _count(pk)
    if count.is_open:
        name, context = "count_sheet", {"count": count, "lots": lots_expected(count)}
    else:
        name, context = "count_result", _result(count)
    record_read(request.user, count, action="count.printed")
    context |= {
        "policy": current_policy(),
        "printed_at": timezone.now(),
        "printed_by": request.user,
    }
    html = document_html(f"print/{name}.html", context)
    response = HttpResponse(render_pdf(html), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="count-{count.pk}.pdf"'
    return response


def _count(pk) -> StockCount:
    people = ("place__site", "started_by", "posted_by", "given_up_by")
    return get_object_or_404(StockCount.objects.select_related(*people), pk=pk)

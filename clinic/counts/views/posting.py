"""Lines in nobody's books, the comparison with the ledger, and posting it."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, allow
from clinic.counts.errors import CountClosed, CountError, NotExplained
from clinic.counts.forms import ExtraForm, explanations
from clinic.counts.models import CountedExtra, StockCount
from clinic.counts.queries import compare
from clinic.counts.services.counting import remove_extra, save_extra
from clinic.counts.services.posting import extra_key, post_count, unit_key


@allow(*CLINICAL)
@require_http_methods(["GET", "HEAD", "POST"])
def count_extra_add(request, pk):
    """Write down something in nobody's books by hand."""
    return _extra_form(request, CountedExtra(count=_count(pk)))


@allow(*CLINICAL)
@require_http_methods(["GET", "HEAD", "POST"])
def count_extra_edit(request, pk):
    return _extra_form(request, _extra(pk))


@allow(*CLINICAL)
@require_POST
def count_extra_remove(request, pk):
    extra = _extra(pk)
    try:
        remove_extra(extra=extra, actor=request.user)
    except CountError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"The line of lot {extra.number} is taken out.")
    return redirect("count-detail", pk=extra.count_id)


def _extra_form(request, extra):
    form = ExtraForm(request.POST or None, instance=extra)
    if request.method == "POST" and form.is_valid():
        try:
            save_extra(extra=form.save(commit=False), actor=request.user)
        except CountClosed as error:
            messages.error(request, str(error))
            return redirect("count-detail", pk=extra.count_id)
        except CountError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, f"Lot {extra.number} is written down.")
            return redirect("count-detail", pk=extra.count_id)
    context = {"form": form, "count": extra.count, "extra": extra}
    return render(request, "counts/extra_form.html", context)


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def count_compare(request, pk):
    """What was seen beside the ledger, a reason for each difference, and posting all of it."""
    count = _count(pk)
    if request.method != "POST":
        if not count.is_open:
            return redirect("count-detail", pk=pk)
        return _compare_page(request, count, {}, {})
    said = explanations(request.POST)
    try:
        post_count(count=count, explanations=said, actor=request.user)
    except NotExplained as error:
        return _compare_page(request, count, said, error.lines, message=str(error))
    except CountClosed as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"{count} is posted.")
    return redirect("count-detail", pk=pk)


def _compare_page(request, count, said, wrong, message=""):
    """The comparison as it is now, with what was typed for each line and what is wrong with it."""
    comparison = compare(count)

    def asked(key, line):
        return {"key": key, "line": line, "said": said.get(key, ""), "error": wrong.get(key, "")}

    context = {
        "count": count,
        "comparison": comparison,
        "differences": [asked(unit_key(line.unit), line) for line in comparison.differences],
        "extras": [asked(extra_key(line), line) for line in comparison.extras],
        "for_all": request.POST.get("for-all", ""),
        "message": message,
    }
    return render(request, "counts/compare.html", context, status=422 if message else 200)


def _count(pk) -> StockCount:
    return get_object_or_404(StockCount.objects.select_related("place__site"), pk=pk)


def _extra(pk) -> CountedExtra:
    return get_object_or_404(
        CountedExtra.objects.select_related("count__place__site", "product"), pk=pk
    )

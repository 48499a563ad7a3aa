"""Counting at the shelf: by code, by label, or by ticking units in the list."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_POST

from clinic.access.camera import reads_codes
from clinic.access.rules import CLINICAL, allow
from clinic.counts.enums import Way
from clinic.counts.errors import CountClosed
from clinic.counts.models import StockCount
from clinic.counts.queries import extra_lines, lots_expected, progress, unexpected
from clinic.counts.services.counting import see_unit, take_back
from clinic.counts.services.scanning import Answer, add_extra, count_code, what_follows
from clinic.stock.errors import StockError
from clinic.stock.models import UnitOfStock
from clinic.stock.naming import NotNamed


def counting_page(request, count: StockCount, *, status: int = 200, **said) -> HttpResponse:
    """
    The page of a count under way; for htmx, what became of a code and the list anew.

    Args:
        said: `answer` to the last code, or a `code` that was refused with its `code_error`; the
            `give_up_form` that came back.
    """
    name = "_answered" if request.htmx else "counting"
    return render(request, f"counts/{name}.html", _live(count) | said, status=status)


def _live(count: StockCount) -> dict:
    """What changes while people count."""
    return {
        "count": count,
        "progress": progress(count),
        "lots": lots_expected(count),
        "unexpected": [(row, what_follows(count, row.unit)) for row in unexpected(count)],
        "extras": extra_lines(count),
    }


@allow(*CLINICAL)
@require_GET
def count_progress(request, pk):
    """The list anew, if something changed since the page has it; else nothing (204)."""
    count = get_object_or_404(StockCount.objects.select_related("place__site"), pk=pk)
    if not count.is_open:
        response = HttpResponse(status=204)
        response["HX-Refresh"] = "true"
        return response
    if progress(count).mark == request.GET.get("mark"):
        return HttpResponse(status=204)
    return render(request, "counts/_live.html", _live(count))


@allow(*CLINICAL)
@require_POST
@reads_codes
def count_scan(request, pk):
    """Note what a code or a label names."""
    return _read(request, pk, count_code)


@allow(*CLINICAL)
@require_POST
@reads_codes
def count_scan_extra(request, pk):
    """Note a box of a known lot that is in nobody's books."""
    return _read(request, pk, add_extra)


def _read(request, pk, act):
    count = _count(pk)
    text = request.POST.get("code", "")
    try:
        answer = act(count=count, text=text, actor=request.user)
    except CountClosed as error:
        return _closed(request, count, error)
    except NotNamed as error:
        return counting_page(request, count, code=text, code_error=str(error), status=422)
    except StockError as error:
        answer = Answer(str(error), "Nothing was added.")
    return counting_page(request, count, answer=answer)


@allow(*CLINICAL)
@require_POST
@reads_codes
def count_see(request, pk):
    """Tick a unit in the list, or choose it where a code did not say which one it is."""
    return _tick(request, pk, lambda **chosen: see_unit(way=Way.TICKED, **chosen))


@allow(*CLINICAL)
@require_POST
@reads_codes
def count_take_back(request, pk):
    """Take a tick away again."""
    return _tick(request, pk, take_back)


def _tick(request, pk, act):
    count = _count(pk)
    number = request.POST.get("unit", "")
    units = UnitOfStock.objects.with_lot().select_related("place__site")
    unit = get_object_or_404(units, pk=int(number) if number.isdecimal() else 0)
    try:
        act(count=count, unit=unit, actor=request.user)
    except CountClosed as error:
        return _closed(request, count, error)
    except StockError as error:
        return counting_page(request, count, answer=Answer(str(error), "Nothing was added."))
    if request.htmx:
        return render(request, "counts/_live.html", _live(count))
    return redirect("count-detail", pk=count.pk)


def _count(pk) -> StockCount:
    return get_object_or_404(StockCount.objects.select_related("place__site"), pk=pk)


def _closed(request, count, error):
    """Somebody posted it or gave it up meanwhile: the page is another one now."""
    messages.error(request, str(error))
    response = redirect("count-detail", pk=count.pk)
    if request.htmx:
        response = HttpResponse(status=204, headers={"HX-Redirect": response["Location"]})
    return response

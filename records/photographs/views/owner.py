"""For the practice owner: what may be used outside of the record, and the clinic's own series."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.audit.services import acting
from planning.standard_views import SOURCES, standard_series
from planning.vocabulary import ProductKind
from records.photographs.enums import OUTSIDE, Use
from records.photographs.forms import SeriesForm
from records.photographs.queries import all_series, series_of, usable
from records.photographs.services.series import choose_series, use_usual_series

PER_PAGE = 48


@allow(Role.OWNER)
@require_GET
def photograph_usable(request: HttpRequest) -> HttpResponse:
    """What may be used for teaching, or published, today."""
    asked = request.GET.get("use", "")
    use = Use(asked) if asked in OUTSIDE else Use.TEACHING
    page_obj = Paginator(usable(use), PER_PAGE).get_page(request.GET.get("page"))
    with acting(request.user) as trail:
        for photograph in page_obj:
            trail.add("read.usable_photograph", photograph, patient_id=photograph.patient_id)
    context = {
        "uses": OUTSIDE,
        "use": use,
        "page_obj": page_obj,
        "today": timezone.localdate(),
    }
    return render(request, "photographs/usable.html", context)


@allow(Role.OWNER)
@require_GET
def series_list(request: HttpRequest) -> HttpResponse:
    """The series of every kind of product."""
    context = {"all_series": all_series(), "sources": SOURCES}
    return render(request, "photographs/series_list.html", context)


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def series_edit(request: HttpRequest, kind: str) -> HttpResponse:
    """Which photographs are taken for this kind."""
    series = series_of(_kind(kind))
    form = SeriesForm(
        request.POST if request.method == "POST" else None,
        shots=series.shots,
        back=reverse("photograph-series"),
    )
    if request.method == "POST" and form.is_valid():
        choose_series(kind=series.kind, shots=form.shots, actor=request.user)
        messages.success(request, f"The series for {series.kind.label.lower()} is saved.")
        return redirect("photograph-series")
    context = {"series": series, "form": form, "usual": standard_series(series.kind)}
    status = 422 if form.errors else 200
    return render(request, "photographs/series_edit.html", context, status=status)


@allow(Role.OWNER)
@require_POST
def series_usual(request: HttpRequest, kind: str) -> HttpResponse:
    """Back to the usual series."""
    chosen = _kind(kind)
    use_usual_series(kind=chosen, actor=request.user)
    messages.success(request, f"The usual series is in use for {chosen.label.lower()}.")
    return redirect("photograph-series")


def _kind(asked: str) -> ProductKind:
    if asked not in ProductKind.__members__.values() or asked == ProductKind.ANAESTHETIC:
        raise Http404("There is no series for such a kind of product.")
    return ProductKind(asked)

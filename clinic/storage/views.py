"""What lies where, and moving it."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.camera import reads_codes
from clinic.access.rules import CLINICAL, allow
from clinic.places.models import Place
from clinic.policy.queries import current_policy
from clinic.stock.errors import StockError
from clinic.stock.queries import expiry_days
from clinic.storage.forms import USUAL_REASONS, ChoosingForm, MoveForm, units_chosen
from clinic.storage.queries import by_lot, nowhere_counts, places_with_counts, units_at
from clinic.storage.services import move_units

UNITS_PER_PAGE = 200


@allow(*CLINICAL)
@require_GET
def place_list(request):
    """The places by site, each with how much lies there."""
    nowhere = nowhere_counts()
    context = {"places": places_with_counts(), "nowhere": any(nowhere.values()) and nowhere}
    return render(request, "storage/place_list.html", context)


@allow(*CLINICAL)
@require_GET
def place_detail(request, pk):
    """What lies in one place, by product and lot."""
    place = get_object_or_404(Place, pk=pk)
    return _contents(request, place, str(place))


@allow(*CLINICAL)
@require_GET
def place_nowhere(request):
    """What is in the house, but nobody has said where."""
    return _contents(request, None, "Not put anywhere")


def _contents(request, place, title):
    page = Paginator(units_at(place), UNITS_PER_PAGE).get_page(request.GET.get("page"))
    days = expiry_days(current_policy(), timezone.localdate())
    context = {
        "place": place,
        "title": title,
        "page_obj": page,
        "rows": by_lot(page.object_list, days),
    }
    return render(request, "storage/place_detail.html", context)


@allow(*CLINICAL)
@require_http_methods(["GET", "HEAD", "POST"])
@reads_codes
def unit_move(request):
    """Put the chosen units elsewhere; a link may bring them along, as `?unit=`."""
    if request.method != "POST":
        chosen = ChoosingForm(request.GET)
        chosen.is_valid()
        return _move_page(request, chosen=chosen.chosen, form=MoveForm())
    form = MoveForm(request.POST)
    if form.is_valid():
        place, units = form.cleaned_data["place"], form.cleaned_data["unit"]
        try:
            moved = move_units(
                units=units, place=place, reason=form.cleaned_data["reason"], actor=request.user
            )
        except StockError as error:
            form.add_error(None, str(error))
        else:
            plural = "unit lies" if len(moved) == 1 else "units lie"
            messages.success(request, f"{len(moved)} {plural} in {place} now.")
            return redirect("place-detail", pk=place.pk)
    chosen = units_chosen([unit.pk for unit in form.cleaned_data.get("unit", [])])
    return _move_page(request, chosen=chosen, form=form)


@allow(*CLINICAL)
@require_POST
@reads_codes
def unit_choose(request):
    """Show the chosen units, and the one whose label or code was read; nothing is stored."""
    choosing = ChoosingForm(request.POST)
    choosing.is_valid()
    form = MoveForm(initial={name: request.POST.get(name) for name in ("place", "reason")})
    return _move_page(
        request, chosen=choosing.chosen, form=form, added=choosing.cleaned_data.get("code"),
        code_error=choosing.errors.get("code"), code=request.POST.get("code"),
    )  # fmt: skip


def _move_page(request, *, chosen, form, **read):
    context = {"chosen": chosen, "form": form, "usual_reasons": USUAL_REASONS, **read}
    return render(request, "storage/move.html", context)

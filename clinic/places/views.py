"""Adding and changing places; what lies there is shown by `clinic.storage`."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.places.errors import PlaceError
from clinic.places.forms import PlaceForm
from clinic.places.models import Place
from clinic.places.services import save_place
from clinic.sites.models import Site


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def place_create(request):
    return _place_form(request, Place())


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def place_edit(request, pk):
    return _place_form(request, get_object_or_404(Place, pk=pk))


def _place_form(request, place):
    form = PlaceForm(request.POST or None, instance=place)
    if request.method == "POST" and form.is_valid():
        try:
            place = save_place(place=form.save(commit=False), actor=request.user)
        except PlaceError as error:
            form.add_error("is_active", str(error))
        else:
            messages.success(request, f"{place} is saved.")
            return redirect("place-detail", pk=place.pk)
    stored = Place.objects.filter(pk=place.pk).first() if place.pk else None
    context = {"form": form, "place": stored, "has_sites": Site.objects.in_use().exists()}
    return render(request, "places/place_form.html", context)

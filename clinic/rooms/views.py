"""The rooms of the sites, kept by the practice owner."""

from functools import partial

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.rooms.forms import RoomForm
from clinic.rooms.models import Room
from clinic.rooms.services import save_room
from clinic.sites.models import Site


@allow(Role.OWNER)
@require_GET
def room_list(request):
    """Rooms by site, each with the kinds of visit it suits."""
    rooms = Room.objects.select_related("site").prefetch_related("visit_kinds")
    context = {
        "rooms": rooms.order_by("-site__is_active", "-is_active", "site__name", "name"),
        "has_sites": Site.objects.in_use().exists(),
    }
    return render(request, "rooms/list.html", context)


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def room_create(request):
    """At the only site in use, where there is but one."""
    sites = Site.objects.in_use()[:2]
    return _room_form(request, Room(site=sites[0]) if len(sites) == 1 else Room())


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def room_edit(request, pk):
    return _room_form(request, get_object_or_404(Room.objects.select_related("site"), pk=pk))


def _room_form(request, room):
    form = RoomForm(request.POST or None, instance=room)
    if request.method == "POST" and form.is_valid():
        room = form.save(commit=False)
        save = partial(save_room, room=room, actor=request.user)
        if form.goes_through(save, whose=room if room.pk else None):
            messages.success(request, f"{room} is saved.")
            return redirect("room-list")
    stored = Room.objects.filter(pk=room.pk).first() if room.pk else None
    status = 422 if form.errors else 200
    return render(request, "rooms/form.html", {"form": form, "room": stored}, status=status)

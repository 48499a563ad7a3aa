"""Adding, changing and retiring the rooms of the sites."""

import pytest
from django.urls import reverse

from clinic.audit.models import AuditEvent
from clinic.rooms.models import Room
from clinic.sites.models import Site
from tests.factories import make_room

pytestmark = pytest.mark.django_db
LIST, NEW = reverse("room-list"), reverse("room-create")


def edit_url(room: Room) -> str:
    return reverse("room-edit", args=[room.pk])


def test_a_room_is_added_at_the_only_site(signed_in, owner):
    client = signed_in(owner)
    assert "add that first" in client.get(LIST).content.decode()
    site = Site.objects.create(name="Harbour")
    assert client.get(NEW).context["form"]["site"].value() == site.pk
    sent = {"site": site.pk, "name": "Room 1", "is_active": "on"}
    assert client.post(NEW, sent).headers["Location"] == LIST
    assert "Room 1" in client.get(LIST).content.decode()
    assert AuditEvent.objects.get(action="room.saved").actor == owner


def test_a_name_is_used_once_at_a_site(signed_in, owner):
    room = make_room(site="Harbour")
    other = Site.objects.create(name="Hill")
    client, sent = signed_in(owner), {"name": "Room 1", "is_active": "on"}
    for name in ("Room 1", "ROOM 1"):
        answer = client.post(NEW, sent | {"site": room.site_id, "name": name})
        assert answer.status_code == 422
        assert "This site already has a room of this name." in answer.content.decode()
    assert client.post(NEW, sent | {"site": other.pk}).status_code == 302


def test_a_room_is_renamed_and_retired_and_stays_at_its_site(signed_in, owner):
    room = make_room(site="Harbour")
    other = Site.objects.create(name="Hill")
    sent = {"site": other.pk, "name": "Blue room"}
    assert signed_in(owner).post(edit_url(room), sent).status_code == 302
    room.refresh_from_db()
    assert (room.name, room.site.name, room.is_active) == ("Blue room", "Harbour", False)
    assert "no longer in use" in signed_in(owner).get(LIST).content.decode()


def test_an_unknown_room_is_not_found_and_the_desk_changes_none(signed_in, owner, desk):
    assert signed_in(owner).get(reverse("room-edit", args=[99999])).status_code == 404
    assert signed_in(desk).post(NEW, {"name": "Room 1"}).status_code == 403

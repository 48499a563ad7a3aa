"""Writes to rooms. Each act is one transaction with its audit event."""

from clinic.audit.services import acting, changes, snapshot
from clinic.rooms.models import Room

ROOM_FIELDS = ["site", "name", "is_active"]


def save_room(*, room: Room, actor) -> Room:
    """Add or change a room, or take it out of use; visits that are booked in it stay so."""
    with acting(actor) as trail:
        stored = Room.objects.select_for_update().filter(pk=room.pk).first()
        before = snapshot(stored, ROOM_FIELDS) if stored else {}
        room.save()
        before, after = changes(before, snapshot(room, ROOM_FIELDS))
        if after:
            trail.add("room.saved", room, before=before, after=after)
    return room

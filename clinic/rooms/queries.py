"""Rooms as lists offer them."""

from collections.abc import Collection

from clinic.rooms.models import Room


def named_apart(rooms: Collection[Room]) -> list[tuple[int, str]]:
    """Id and name of each, with its site where they are of several."""
    has_sites = len({room.site_id for room in rooms}) > 1
    return [(room.pk, f"{room} ({room.site})" if has_sites else str(room)) for room in rooms]

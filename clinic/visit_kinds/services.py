"""Writes to the kinds of visit. One transaction with its audit events."""

from collections.abc import Iterable

from clinic.audit.services import acting, changes, snapshot
from clinic.rooms.models import Room
from clinic.visit_kinds.models import VisitKind

KIND_FIELDS = ["minutes", "preparation_minutes", "buffer_minutes", "is_active"]


def save_visit_kinds(*, kinds: Iterable[tuple[VisitKind, Iterable[Room]]], actor) -> None:
    """
    Store what was decided for these kinds, each with the rooms that suit; an event for each that
    differs. Visits that are booked keep the times they were booked with.
    """
    with acting(actor) as trail:
        stored = {
            row.kind: row for row in VisitKind.objects.select_for_update().prefetch_related("rooms")
        }
        for kind, rooms in kinds:
            before = _in_words(stored[kind.kind]) if kind.kind in stored else {}
            kind.save()
            kind.rooms.set(rooms)
            before, after = changes(before, _in_words(kind))
            if after:
                trail.add("visit_kind.saved", kind, before=before, after=after)


def _in_words(kind: VisitKind) -> dict:
    """For the trail: rooms by their names, so that a row explains itself."""
    return snapshot(kind, KIND_FIELDS) | {"rooms": sorted(str(room) for room in kind.rooms.all())}

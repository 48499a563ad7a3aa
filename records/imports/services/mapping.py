"""Saying which column is which, and looking through the rows anew with it."""

from collections.abc import Iterator, Mapping

from django.utils import timezone

from clinic.audit.services import acting, changes, snapshot
from clinic.background.queue import tick_now
from planning.imports.cells import orders_in
from planning.imports.columns import COLUMNS, DATE_COLUMNS, DateOrder, Kind, missing_columns
from planning.vocabulary import Measure
from records.imports.enums import RowState, State
from records.imports.errors import ImportRefused
from records.imports.models import Import

MAPPING_FIELDS = ["mapping", "date_order", "measure"]
_AT_ONCE = 2_000


def map_columns(
    *,
    taken: Import,
    mapping: Mapping[str, int],
    date_order: DateOrder | None,
    measure: Measure | None,
    actor,
) -> Import:
    """
    Keep which column is which, and have every row looked through by it.

    Raises:
        ImportRefused: a needed column is missing, a place is none of the file's, or the rows are
            being taken in already.
    """
    kind = Kind(taken.kind)
    known = {column.key for column in COLUMNS[kind]}
    if not mapping.keys() <= known or not set(mapping.values()) <= set(range(len(taken.headings))):
        raise ImportRefused("Choose among the columns of the file.")
    if missing := missing_columns(kind, mapping):
        raise ImportRefused(next(iter(missing.values())))
    with acting(actor) as trail:
        stored = Import.objects.select_for_update(of=("self",)).get(pk=taken.pk)
        if stored.now not in (State.UPLOADED, State.CHECKING, State.CHECKED):
            raise ImportRefused("This file is no longer waiting for its columns.")
        before = snapshot(stored, MAPPING_FIELDS)
        stored.mapping, stored.state = dict(mapping), State.CHECKING
        stored.date_order, stored.measure = date_order or "", measure or ""
        stored.save(update_fields=[*MAPPING_FIELDS, "state"])
        stored.rows.update(
            state=RowState.WAITING, problems=[], key="", born=None, tail="", email="", patient=None,
            is_sure=False,
        )  # fmt: skip
        before, after = changes(before, snapshot(stored, MAPPING_FIELDS))
        trail.add("import.mapped", stored, before=before, after=after)
        tick_now()
    return stored


def orders_of(taken: Import, mapping: Mapping[str, int]) -> tuple[frozenset[DateOrder], bool]:
    """What the days of the mapped columns show, over all rows, streamed."""
    places = [mapping[key] for key in DATE_COLUMNS if key in mapping]
    return orders_in(_cells(taken, places))


def _cells(taken: Import, places: list[int]) -> Iterator[str]:
    rows = taken.rows.order_by("number").values_list("cells", flat=True)
    for cells in rows.iterator(chunk_size=_AT_ONCE):
        yield from (cells[place] for place in places if cells and place < len(cells))


def discard(*, taken: Import, actor) -> None:
    """
    Put a file aside that was never taken in; its rows are deleted.

    Raises:
        ImportRefused: it was taken in, and can only be undone.
    """
    with acting(actor) as trail:
        stored = Import.objects.select_for_update(of=("self",)).get(pk=taken.pk)
        if stored.now is State.DISCARDED:
            return
        if stored.now not in (State.UPLOADED, State.CHECKING, State.CHECKED):
            raise ImportRefused("This file was taken in. It can only be undone.")
        stored.state, stored.cells_dropped_at = State.DISCARDED, timezone.now()
        stored.save(update_fields=["state", "cells_dropped_at"])
        stored.rows.all().delete()
        trail.add("import.discarded", stored)

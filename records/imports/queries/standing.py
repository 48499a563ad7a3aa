"""How far an import is, and which of its rows a person looks at."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Count, QuerySet

from clinic.policy.queries import current_policy
from planning.imports.columns import ERROR_COLUMNS
from records.imports.enums import RowState, State
from records.imports.models import Import, ImportRow

SHOWN_ROWS = 40
NOT_TAKEN = (RowState.WRONG, RowState.ALIKE, RowState.HERE)


@dataclass(frozen=True, slots=True)
class Standing:
    """Rows by what became of them; `settled` of `of` is how far the work at hand is."""

    state: State
    rows: int
    counts: dict[RowState, int]

    def of_state(self, state: RowState) -> int:
        return self.counts.get(state, 0)

    @property
    def new(self) -> int:
        return self.of_state(RowState.GOOD)

    @property
    def here(self) -> int:
        return self.of_state(RowState.HERE)

    @property
    def alike(self) -> int:
        return self.of_state(RowState.ALIKE)

    @property
    def wrong(self) -> int:
        return self.of_state(RowState.WRONG)

    @property
    def taken(self) -> int:
        return self.of_state(RowState.TAKEN)

    @property
    def undone(self) -> int:
        return self.of_state(RowState.UNDONE)

    @property
    def kept(self) -> int:
        return self.of_state(RowState.KEPT)

    @property
    def settled(self) -> int:
        waiting = {
            State.CHECKING: RowState.WAITING,
            State.RUNNING: RowState.GOOD,
            State.UNDOING: RowState.TAKEN,
        }.get(self.state)
        return self.rows - (self.of_state(waiting) if waiting else 0)


def standing_of(taken: Import) -> Standing:
    """One query along one index."""
    counted = taken.rows.order_by().values_list("state").annotate(count=Count("id"))
    return Standing(taken.now, taken.row_count, {RowState(s): count for s, count in counted})


def rows_to_look_at(taken: Import, state: RowState) -> QuerySet[ImportRow]:
    return taken.rows.filter(state=state).select_related("patient").order_by("number")


def error_rows(taken: Import) -> Iterator[list[str]]:
    """
    Each row that was not taken in: its number, the columns, the reasons, and the row as it was.
    """
    rows = taken.rows.filter(state__in=NOT_TAKEN, cells__isnull=False).order_by("number")
    for row in rows.iterator(chunk_size=500):
        columns = ", ".join(dict.fromkeys(column for column, _ in row.problems if column))
        reasons = " ".join(reason for _, reason in row.problems)
        yield [str(row.number), columns, reasons, *(row.cells or [])]


def error_heading(taken: Import) -> list[str]:
    return [*ERROR_COLUMNS, *taken.headings]


def undo_until(taken: Import) -> datetime | None:
    """Up to when the import can be undone; None where it was not taken in as a whole."""
    if taken.done_at is None:
        return None
    return taken.done_at + timedelta(days=current_policy().import_undo_days)

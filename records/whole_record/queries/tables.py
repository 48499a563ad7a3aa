"""The parts that a whole record is put together of, and how its cells are written."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from django.utils import timezone

Row = tuple[str, ...]


@dataclass(frozen=True)
class Table:
    """One table; the first column names the row. A line feed in a cell begins a new line there."""

    columns: Row
    rows: Sequence[Row]
    title: str = ""


@dataclass(frozen=True)
class Chapter:
    """
    One chapter.

    Attributes:
        key: its anchor, for the contents.
        template: what follows its tables; "" for nothing.
        is_empty: nothing of the kind is on record, and the chapter says so.
    """

    key: str
    title: str
    tables: Sequence[Table] = ()
    template: str = ""
    entries: Sequence[tuple[str, str]] = field(default=())
    """What else stands in the contents under it: (anchor, words)."""

    @property
    def is_empty(self) -> bool:
        return not self.template and not any(table.rows for table in self.tables)


def day(value: date | None) -> str:
    """ "3 May 2026", "" for None."""
    return f"{value:%-d %b %Y}" if value else ""


def moment(value: datetime | None) -> str:
    """ "3 May 2026, 14:05" by the clinic's clock, "" for None."""
    return f"{timezone.localtime(value):%-d %b %Y, %H:%M}" if value else ""


def lines(*parts: object) -> str:
    """What is not empty, one below the other."""
    return "\n".join(str(part) for part in parts if part)


def said(label: str, value: object) -> str:
    """ "Done: ice", "" where there is nothing."""
    return f"{label}: {value}" if value not in ("", None) else ""


def by(when: datetime | None, who: object) -> str:
    """ "3 May 2026, 14:05, Ida Injector"."""
    return ", ".join(str(part) for part in (moment(when), who) if part)


def listed(values: Iterable[object]) -> str:
    return "; ".join(str(value) for value in values)

"""Long lists of values for databases that take only so many in one statement."""

from collections.abc import Iterator, Sequence
from typing import TypeVar

Value = TypeVar("Value")

# SQLite takes 32,766 values in a statement (SQLITE_MAX_VARIABLE_NUMBER), PostgreSQL 65,535.
MOST_VALUES = 10_000


def in_parts(values: Sequence[Value], most: int = MOST_VALUES) -> Iterator[Sequence[Value]]:
    """The values in their order, at most so many at a time."""
    for start in range(0, len(values), most):
        yield values[start : start + most]

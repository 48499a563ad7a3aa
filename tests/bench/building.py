"""
Filling a database with millions of rows in a minute or two.

Every part of the bench has a module with two functions:

    build(count)   fills the current database, which is migrated and empty
    measure()      returns the lines of the table, a list of `Result` (tests/bench/results.py)

`fast_load` and `fill` let the database write rows by itself: INSERT ... SELECT over numbers `n`.
"""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from time import monotonic

from django.apps import apps
from django.core.management.color import no_style
from django.db import DEFAULT_DB_ALIAS, connection, connections, models
from django.utils import timezone

from clinic.database import triggers

ROWS_AT_ONCE = 500_000


def is_small() -> bool:
    """BENCH_SCALE=small: the same steps over few rows, to see that they run at all."""
    return os.environ.get("BENCH_SCALE", "full") == "small"


def scaled(full: int, small: int) -> int:
    """A size of this run."""
    return small if is_small() else full


@contextmanager
def instead_of_default(alias: str) -> Iterator[None]:
    """Inside the block all code that asks for the default database gets this one."""
    kept = connections[DEFAULT_DB_ALIAS]
    connections[DEFAULT_DB_ALIAS] = connections[alias]
    try:
        yield
    finally:
        connections[DEFAULT_DB_ALIAS] = kept


def sql(*, sqlite: str, postgresql: str) -> str:
    """The expression for the current database, where the two differ."""
    return {"sqlite": sqlite, "postgresql": postgresql}[connection.vendor]


def moment(seconds: str) -> str:
    """SQL of a point in time: so many seconds (an expression) after 2016-01-04 09:00 UTC."""
    return sql(
        sqlite=f"strftime('%Y-%m-%d %H:%M:%S.125000', 1451898000 + ({seconds}), 'unixepoch')",
        postgresql=f"to_timestamp(1451898000.125 + ({seconds}))",
    )


def day(days: str) -> str:
    """SQL of a date: so many days (an expression) after 2016-01-04."""
    return sql(
        sqlite=f"date('2016-01-04', ({days}) || ' days')",
        postgresql=f"DATE '2016-01-04' + CAST({days} AS integer)",
    )


def uuid_of(number: str) -> str:
    """SQL of a UUID made from a number (an expression), stored as Django stores it."""
    return sql(
        sqlite=f"printf('%032x', {number})",
        postgresql=f"CAST(lpad(to_hex({number}), 32, '0') AS uuid)",
    )


def fill(model: type[models.Model], count: int, **columns: str) -> None:
    """
    Add `count` rows whose columns are SQL expressions over `n`, which runs from 1 to `count`.

    Args:
        columns: expressions by attribute name ("patient_id"); each other column gets the field's
            own default, or now for the time of its making.

    Raises:
        TypeError: an expression for a column the model does not have.
    """
    fields = {field.attname: field for field in model._meta.concrete_fields}
    if unknown := columns.keys() - fields.keys():
        raise TypeError(f"{model.__name__} has no {', '.join(sorted(unknown))}")
    expressions, defaults = [], []
    for name, field in fields.items():
        if name in columns:
            expressions.append(columns[name].replace("%", "%%"))
        else:
            expressions.append("%s")
            is_time_of_making = getattr(field, "auto_now_add", False) or getattr(
                field, "auto_now", False
            )
            value = timezone.now() if is_time_of_making else field.get_default()
            defaults.append(field.get_db_prep_save(value, connection))
    into = f"INSERT INTO {model._meta.db_table} ({', '.join(f.column for f in fields.values())})"
    for first in range(1, count + 1, ROWS_AT_ONCE):
        last = min(first + ROWS_AT_ONCE - 1, count)
        _insert(into, f"SELECT {', '.join(expressions)} FROM", first, last, defaults)
        progress(model.__name__, last, count)


def _insert(into: str, select: str, first: int, last: int, defaults: list) -> None:
    """One INSERT for the numbers from `first` to `last`."""
    if connection.vendor == "sqlite":
        statement = (
            f"{into} WITH RECURSIVE numbers(n) AS (SELECT {first} UNION ALL "
            f"SELECT n + 1 FROM numbers WHERE n < {last}) {select} numbers"
        )
    else:
        statement = (
            f"{into} {select} generate_series(CAST({first} AS bigint), {last}) AS numbers(n)"
        )
    with connection.cursor() as cursor:
        cursor.execute(statement, defaults)


def progress(what: str, done: int, total: int) -> None:
    """Say on stderr how far it is; quiet in a small run."""
    if not is_small():
        print(f"  {done:>12,} of {total:,} {what}", file=sys.stderr, flush=True)


@contextmanager
def fast_load() -> Iterator[None]:
    """
    Load without triggers, foreign key checks, indexes and waiting for the disk; then put all back.

    What is loaded must obey the rules by itself: a unit's `drawn` is what its points add up to.
    """
    started = monotonic()
    triggers.drop_all(connection)
    remade = _drop_indexes()
    _execute(*_fast())
    try:
        yield
    finally:
        for name, statement in remade.items():
            progress(f"index {name}", 1, 1)
            _execute(statement)
        _execute(*_safe())
        _execute(*_sequences_put_right(), "ANALYZE")
        triggers.install_all(connection)
    progress(f"database in {monotonic() - started:.0f} s", 1, 1)


def _fast() -> list[str]:
    if connection.vendor == "postgresql":
        return ["SET session_replication_role = replica", "SET maintenance_work_mem = '1GB'"]
    if connection.in_atomic_block:  # a test: SQLite changes these outside transactions only
        return []
    return [
        "PRAGMA foreign_keys = OFF",
        "PRAGMA journal_mode = OFF",
        "PRAGMA synchronous = OFF",
        "PRAGMA cache_size = -1000000",
    ]


def _safe() -> list[str]:
    if connection.vendor == "postgresql":
        return ["SET session_replication_role = origin", "RESET maintenance_work_mem"]
    if connection.in_atomic_block:
        return []
    return [
        "PRAGMA cache_size = -2000",
        "PRAGMA synchronous = FULL",
        "PRAGMA journal_mode = WAL",
        "PRAGMA foreign_keys = ON",
    ]


def _sequences_put_right() -> list[str]:
    """Statements after which a row added by Django gets the next free id."""
    tables = set(connection.introspection.table_names())
    filled = [model for model in apps.get_models() if model._meta.db_table in tables]
    return connection.ops.sequence_reset_sql(no_style(), filled)


def _drop_indexes() -> dict[str, str]:
    """Take away the indexes that hold no rule; the statements that make them again, by name."""
    query = sql(
        sqlite="SELECT name, sql FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL",
        postgresql=(
            "SELECT indexname, indexdef FROM pg_indexes WHERE schemaname = 'public' AND indexname"
            " NOT IN (SELECT conindid::regclass::text FROM pg_constraint WHERE conindid <> 0)"
        ),
    )
    with connection.cursor() as cursor:
        cursor.execute(query)
        found = dict(cursor.fetchall())
    _execute(*(f'DROP INDEX "{name}"' for name in found))
    return found


def _execute(*statements: str) -> None:
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)

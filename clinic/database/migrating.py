"""One migration at a time, so that two servers that are started together both come up."""

import fcntl
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from django.db.backends.base.base import BaseDatabaseWrapper

# Any number that nothing else in the database locks by; PostgreSQL's are 64 bits wide.
LOCK = 0x6D696772617465
ASK_AGAIN_SECONDS = 0.2


@contextmanager
def migrating_alone(connection: BaseDatabaseWrapper, on_wait: Callable[[], None]) -> Iterator[None]:
    """
    Wait until nobody else migrates this database, and keep others waiting within the block.

    The lock goes with its process, so one that was killed holds nobody up.

    Args:
        on_wait: called once if somebody else is at it.
    """
    lock = _in_postgresql if connection.vendor == "postgresql" else _beside_the_file
    with lock(connection) as try_it:
        if not try_it():
            on_wait()
            while not try_it():
                time.sleep(ASK_AGAIN_SECONDS)
        yield


@contextmanager
def _in_postgresql(connection: BaseDatabaseWrapper) -> Iterator[Callable[[], bool]]:
    """An advisory lock of the connection that migrates."""

    def ask(function: str) -> bool:
        with connection.cursor() as cursor:
            cursor.execute(f"SELECT {function}(%s)", [LOCK])
            return cursor.fetchone()[0]

    yield lambda: ask("pg_try_advisory_lock")
    ask("pg_advisory_unlock")


@contextmanager
def _beside_the_file(connection: BaseDatabaseWrapper) -> Iterator[Callable[[], bool]]:
    """A locked file beside SQLite's, which stays: taking it away would let two in."""
    if connection.is_in_memory_db():  # type: ignore[attr-defined]
        yield lambda: True
        return
    with Path(f"{connection.settings_dict['NAME']}-migrating").open("a") as file:

        def try_it() -> bool:
            try:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                return False
            return True

        yield try_it

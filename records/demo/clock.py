"""Moving the clock while the demo's past is written."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from unittest import mock

from django.utils import timezone


@contextmanager
def clock_at(moment: datetime) -> Iterator[None]:
    """
    Inside the block the services believe it is `moment`; a block may lie in another.

    In UTC as the true clock, because the digest of a signed session holds the time as it is given.
    """
    with mock.patch.object(timezone, "now", return_value=moment.astimezone(UTC)):
        yield

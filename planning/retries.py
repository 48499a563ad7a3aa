"""When to try again what could not be done for the moment."""

from __future__ import annotations

from datetime import datetime, timedelta

PAUSES = (
    timedelta(minutes=1),
    timedelta(minutes=5),
    timedelta(minutes=30),
    timedelta(hours=2),
    timedelta(hours=6),
)
"""
After the first, second, ... failed try; the last one from then on. Common practice, no source: RFC
5321, 4.5.4.1 asks a mail server that sends on for itself to wait at least 30 minutes.
"""


def next_try(tries: int, *, now: datetime, until: datetime) -> datetime | None:
    """
    When to try again after `tries` failed ones; None when that would be `until` or later, where it
    makes no sense any more.

    Raises:
        ValueError: nothing was tried yet.
    """
    if tries < 1:
        raise ValueError(f"After {tries} tries there is nothing to try again.")
    at = now + PAUSES[min(tries, len(PAUSES)) - 1]
    return at if at < until else None

"""
The stopwatch of a recall: how long after the notice each step was done.

A step that is not done yet runs on. In a drill nobody is contacted and nothing is stopped, so its
watch has one step, the complete call list.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

_MINUTE, _HOUR, _DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)


class RecallClockError(ValueError):
    """A step that lies before the notice."""


@dataclass(frozen=True, slots=True)
class Lap:
    """
    One step of the stopwatch.

    Attributes:
        label: what is done when it stops.
        at: when it was done; None while it runs, or if it ended undone.
        elapsed: from the notice to `at`, or to the moment one asks about.
        is_running: it goes on; otherwise it was done, or the case was closed without it.
    """

    label: str
    at: datetime | None
    elapsed: timedelta
    is_running: bool

    @property
    def words(self) -> str:
        return in_words(self.elapsed)

    @property
    def is_done(self) -> bool:
        return self.at is not None


def stopwatch(
    received_at: datetime,
    now: datetime,
    *,
    stopped_at: datetime | None = None,
    listed_at: datetime | None = None,
    reached_at: datetime | None = None,
    closed_at: datetime | None = None,
    is_drill: bool = False,
) -> list[Lap]:
    """
    The steps in the order they are done.

    Args:
        received_at: when the notice came into the house.
        stopped_at: when the stock was put into quarantine.
        listed_at: when the call list was called complete.
        reached_at: when the last patient was reached; None while somebody is not.
        closed_at: ends the steps that were never done.

    Raises:
        RecallClockError: a step before the notice.
    """
    steps = [("Call list complete", listed_at)]
    if not is_drill:
        steps = [("Stock stopped", stopped_at), *steps, ("Everybody reached", reached_at)]
    end = closed_at or now
    laps = [
        Lap(label, at, (at or end) - received_at, is_running=at is None and closed_at is None)
        for label, at in steps
    ]
    if any(lap.elapsed < timedelta(0) for lap in laps):
        raise RecallClockError("A step of a recall cannot come before its notice.")
    return laps


def in_words(elapsed: timedelta) -> str:
    """
    The two largest parts of a duration, cut and not rounded: "38 min 12 s", "5 h 7 min",
    "3 days 4 h".
    """
    if elapsed < _MINUTE:
        return f"{elapsed // timedelta(seconds=1)} s"
    if elapsed < _HOUR:
        return f"{elapsed // _MINUTE} min {elapsed % _MINUTE // timedelta(seconds=1)} s"
    if elapsed < _DAY:
        return f"{elapsed // _HOUR} h {elapsed % _HOUR // _MINUTE} min"
    days = elapsed // _DAY
    return f"{days} day{'' if days == 1 else 's'} {elapsed % _DAY // _HOUR} h"

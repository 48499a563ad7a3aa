"""
Quiet hours: a part of each day in which nobody is written to, by the clock on the wall.

The clock decides, not the hours that pass: on the night in which the clocks change, quiet hours
from 20:00 to 08:00 last eleven or thirteen hours and end at 08:00 all the same. A time that the
clocks leap over ends when they have leapt; one that they show twice counts both times.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta, tzinfo

BEFORE_QUIET = timedelta(minutes=15)
"""What must not wait until quiet hours are over goes so long before they begin."""


@dataclass(frozen=True, slots=True)
class QuietHours:
    """
    Quiet from `begins` until before `ends`, over midnight where `ends` is the earlier one. The same
    time twice: no quiet hours.
    """

    begins: time
    ends: time

    @property
    def is_over_midnight(self) -> bool:
        return self.ends < self.begins

    def holds(self, clock: time) -> bool:
        """Whether it is quiet when the clock on the wall shows `clock`."""
        if self.is_over_midnight:
            return clock >= self.begins or clock < self.ends
        return self.begins <= clock < self.ends


def is_quiet(at: datetime, quiet: QuietHours, zone: tzinfo) -> bool:
    """Whether the aware moment `at` lies in quiet hours."""
    return quiet.holds(_wall(at, zone).time())


def not_quiet_from(at: datetime, quiet: QuietHours, zone: tzinfo) -> datetime:
    """The first moment from `at` on, in UTC, that lies in no quiet hours."""
    if not is_quiet(at, quiet, zone):
        return at.astimezone(UTC)
    wall = _wall(at, zone)
    day = wall.date()
    if quiet.is_over_midnight and wall.time() >= quiet.begins:
        day += timedelta(days=1)
    end = datetime.combine(day, quiet.ends, tzinfo=zone).astimezone(UTC)
    if end <= at:  # the clocks went back over it: it is quiet a second time until then
        end = datetime.combine(day, quiet.ends, tzinfo=zone).replace(fold=1).astimezone(UTC)
    return end


def before_quiet(at: datetime, quiet: QuietHours, zone: tzinfo) -> datetime:
    """The last good moment, in UTC, before the quiet hours in which `at` lies; else `at`."""
    if not is_quiet(at, quiet, zone):
        return at.astimezone(UTC)
    wall = _wall(at, zone)
    day = wall.date()
    if quiet.is_over_midnight and wall.time() < quiet.ends:
        day -= timedelta(days=1)
    return datetime.combine(day, quiet.begins, tzinfo=zone).astimezone(UTC) - BEFORE_QUIET


def reminder_time(
    starts_at: datetime, before: timedelta, quiet: QuietHours, zone: tzinfo
) -> datetime:
    """
    When to remind of what begins at `starts_at`, in UTC: so long before, moved out of quiet hours,
    later if that still comes in time, else earlier.
    """
    wanted = starts_at.astimezone(UTC) - before
    later = not_quiet_from(wanted, quiet, zone)
    return later if later < starts_at else before_quiet(wanted, quiet, zone)


def _wall(at: datetime, zone: tzinfo) -> datetime:
    if at.tzinfo is None:
        raise ValueError(f"{at} has no time zone.")
    return at.astimezone(zone)

"""One day of one person, cut into spans: when work is done, and why not in the rest of the day."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from enum import Enum
from itertools import pairwise
from typing import NamedTuple


class Shade(Enum):
    """What a span of a day is; `OFF` lies before, after or without any work."""

    WORKING = "working"
    BREAK = "break"
    OFF = "off"
    ABSENT = "absent"
    CLOSED = "closed"


class WorkSpan(NamedTuple):
    """Work at a site from one moment to before another."""

    start: datetime
    end: datetime
    site: int


class AwaySpan(NamedTuple):
    """Somebody is not there; `label` says why, "Leave"."""

    start: datetime
    end: datetime
    label: str


class ShadedSpan(NamedTuple):
    """
    A part of a day. `label` is what to tell of it, "" for work; `site` is where work is done, None
    for everything else.
    """

    shade: Shade
    start: datetime
    end: datetime
    label: str = ""
    site: int | None = None

    @property
    def is_working(self) -> bool:
        return self.shade is Shade.WORKING


def closed_day(start: datetime, end: datetime, why: str) -> list[ShadedSpan]:
    """The day on which nobody works."""
    return [ShadedSpan(Shade.CLOSED, start, end, why)]


def day_shape(
    start: datetime, end: datetime, work: Iterable[WorkSpan], away: Sequence[AwaySpan]
) -> list[ShadedSpan]:
    """
    The time from `start` to `end` without a gap, in order.

    Being away comes before everything, the first reason named before the next. What lies between
    two spans of work is a break. Spans may reach beyond the day and touch; they are cut and joined.
    """
    worked = sorted(
        WorkSpan(max(one.start, start), min(one.end, end), one.site)
        for one in work
        if max(one.start, start) < min(one.end, end)
    )
    edges = {start, end}
    for first, last, _ in (*worked, *away):
        edges |= {min(max(moment, start), end) for moment in (first, last)}
    shape: list[ShadedSpan] = []
    for first, last in pairwise(sorted(edges)):
        part = _part(first, last, worked, away)
        if shape and shape[-1]._replace(start=first, end=last) == part:
            part = shape.pop()._replace(end=last)
        shape.append(part)
    return shape


def _part(
    start: datetime, end: datetime, worked: Sequence[WorkSpan], away: Sequence[AwaySpan]
) -> ShadedSpan:
    """What lies between two edges that follow each other."""
    for absence in away:
        if absence.start <= start < absence.end:
            return ShadedSpan(Shade.ABSENT, start, end, absence.label)
    for span in worked:
        if span.start <= start < span.end:
            return ShadedSpan(Shade.WORKING, start, end, site=span.site)
    if worked and worked[0].start <= start < worked[-1].end:
        return ShadedSpan(Shade.BREAK, start, end, "Break")
    return ShadedSpan(Shade.OFF, start, end, "Not at work")

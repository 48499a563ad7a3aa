"""What sessions hold, read for several of them at once."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.db.models import F, Max, Min

from records.charting.models import Operation
from records.sessions.models import (
    InjectionEntry,
    Marking,
    SessionPicture,
    SessionUnit,
    TreatmentSession,
)
from records.sessions.queries.tray import trays_of


@dataclass
class Charted:
    """
    A session with what is in it, removed things as well.

    Attributes:
        tray: in the order in which units were put on it, with lots and openings.
        points: by number, with the keys of their photographs and markings and whoever logged them.
            Their units are those of the tray, lot and product included.
        skew_ms: how far the clinic's clock was ahead of a tablet's, the furthest of all; 0 where no
            tablet sent anything.
    """

    session: TreatmentSession
    tray: list[SessionUnit]
    points: list[InjectionEntry]
    markings: list[Marking]
    pictures: list[SessionPicture]
    skew_ms: int

    @cached_property
    def standing(self) -> list[InjectionEntry]:
        return [point for point in self.points if point.removed_at is None]


def charted(sessions: Iterable[TreatmentSession]) -> list[Charted]:
    """In the order given: five queries."""
    sessions = list(sessions)
    tray = _by_session(trays_of(sessions))
    points = _by_session(_points_of(sessions))
    markings = _by_session(Marking.objects.filter(session__in=sessions))
    pictures = _by_session(SessionPicture.objects.filter(session__in=sessions))
    skews = _skews_of(sessions)
    rows = [
        Charted(
            one, tray[one.pk], points[one.pk], markings[one.pk], pictures[one.pk], skews[one.pk]
        )
        for one in sessions
    ]
    for row in rows:
        units = {each.unit_id: each.unit for each in row.tray}
        for point in row.points:
            point.unit = units.get(point.unit_id) or point.unit
    return rows


def _by_session(rows: Iterable[Any]) -> dict[int, list]:
    found: dict[int, list] = defaultdict(list)
    for row in rows:
        found[row.session_id].append(row)
    return found


def _points_of(sessions: list[TreatmentSession]) -> Iterable[InjectionEntry]:
    points = InjectionEntry.objects.filter(session__in=sessions).select_related("logged_by")
    return points.order_by("number").annotate(
        picture_key=F("picture__key"), marking_key=F("marking__key")
    )


def _skews_of(sessions: list[TreatmentSession]) -> dict[int, int]:
    """Order never depends on a tablet's clock, but the times shown of the points do."""
    rows = Operation.objects.filter(session__in=sessions).order_by().values_list("session")
    ends = rows.annotate(Min("skew_ms"), Max("skew_ms"))
    return defaultdict(int, {session: max(least, most, key=abs) for session, least, most in ends})

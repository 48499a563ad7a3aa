"""
When somebody can be booked on a day, and why not: the one place where the diary asks for hours.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date

from clinic.policy.queries import current_policy, open_days
from clinic.rooms.models import Room
from clinic.staff.models import User
from planning.diary_grid import PLAIN_DAY, ROWS_A_DAY, Rows
from planning.review_dates import OpenDays

WHOLE_DAY = Rows(0, ROWS_A_DAY)


@dataclass(frozen=True, slots=True)
class Shape:
    """
    A person's or a room's day.

    Attributes:
        open: rows that can be booked.
        reasons: rows that cannot, with why ("Leave", "Boxing Day"); what neither names is out of
            hours.
        sites: where the person works on this day.
    """

    open: list[Rows] = field(default_factory=list)
    reasons: list[tuple[Rows, str]] = field(default_factory=list)
    sites: frozenset[int] = frozenset()


# By the key of the person or room.
Shapes = dict[int, dict[date, Shape]]


def people_shapes(people: Iterable[User], days: Sequence[date]) -> Shapes:
    """Each person's days: plain ones while the clinic is open."""
    shapes = clinic_shapes(days)
    return {person.pk: shapes for person in people}


def room_shapes(rooms: Iterable[Room], days: Sequence[date]) -> Shapes:
    """Each room's days."""
    shapes = clinic_shapes(days)
    return {room.pk: shapes for room in rooms}


def clinic_shapes(days: Sequence[date]) -> dict[date, Shape]:
    """Of whatever has no hours of its own: a plain day while the clinic is open."""
    calendar = open_days(current_policy(), on_or_after=min(days))
    return {day: _clinic_shape(day, calendar) for day in days}


def _clinic_shape(day: date, calendar: OpenDays) -> Shape:
    if calendar.is_open(day):
        return Shape(open=[PLAIN_DAY])
    return Shape(reasons=[(WHOLE_DAY, calendar.why_closed(day) or "The clinic is closed")])

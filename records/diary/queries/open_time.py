"""When a person or a room can be booked on a day, and why not otherwise, in rows of the diary."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.utils import timezone

from clinic.hours.models import Absence
from clinic.hours.queries import NO_SITE, Hours, read_hours
from clinic.rooms.models import Room
from clinic.staff.models import User
from planning.day_shapes import Shade, ShadedSpan
from planning.diary_grid import ROWS_A_DAY, Rows, joined, rows_on, without
from records.appointments.models import start_of

WHOLE_DAY = Rows(0, ROWS_A_DAY)
GONE, OUT_OF_USE = "No longer works here", "No longer in use"


@dataclass(frozen=True, slots=True)
class Shape:
    """
    A person's or a room's day.

    Attributes:
        open: rows that can be booked.
        reasons: rows that cannot, with why ("Leave", "Break"); what neither names is out of hours.
        sites: where the person works on this day.
        closed: why the whole clinic is closed; "" on an open day.
    """

    open: list[Rows] = field(default_factory=list)
    reasons: list[tuple[Rows, str]] = field(default_factory=list)
    sites: frozenset[int] = frozenset()
    closed: str = ""


# By the key of the person or room.
Shapes = dict[int, dict[date, Shape]]


def people_shapes(people: Sequence[User], days: Sequence[date], today: date) -> Shapes:
    """
    Each person's days, by their working hours and absences: a constant number of queries.

    Whoever left has none from `today` on; the days before stay as they were worked.
    """
    hours = read_hours(people, days[0], days[-1])
    return {
        person.pk: {
            day: _person_shape(hours, person.pk, day)
            if person.is_active or day < today
            else Shape(reasons=[(WHOLE_DAY, GONE)])
            for day in days
        }
        for person in people
    }


def room_shapes(
    rooms: Sequence[Room], people: Sequence[User], days: Sequence[date], today: date
) -> Shapes:
    """
    Each room's days: open while somebody works at its site and nothing is out of order.

    A room out of use, or of a site out of use, has none from `today` on. A constant number of
    queries.
    """
    hours = read_hours(people, days[0], days[-1])
    away = Absence.objects.filter(room__in=rooms).between(
        start_of(days[0]), start_of(days[-1] + timedelta(days=1))
    )
    away_of: dict[int, list[Absence]] = {}
    for absence in away:
        away_of.setdefault(absence.room_id or 0, []).append(absence)
    worked = {
        day: _worked_by_site(hours, [one for one in people if one.is_active or day < today], day)
        for day in days
    }
    return {
        room.pk: {
            day: _room_shape(
                hours, day, worked[day].get(room.site_id, []), away_of.get(room.pk, [])
            )
            if (room.is_active and room.site.is_active) or day < today
            else Shape(reasons=[(WHOLE_DAY, OUT_OF_USE)])
            for day in days
        }
        for room in rooms
    }


def _person_shape(hours: Hours, person_id: int, day: date) -> Shape:
    spans = [(_rows(day, span.start, span.end), span) for span in hours.day(person_id, day)]
    return Shape(
        open=joined([rows for rows, span in spans if span.is_working]),
        reasons=[(rows, _why(hours, day, span)) for rows, span in spans if _is_told(span)],
        sites=frozenset(span.site for _, span in spans if span.site not in (None, NO_SITE)),
        closed="" if hours.days.is_open(day) else _why_closed(hours, day),
    )


def _is_told(span: ShadedSpan) -> bool:
    """Out of hours needs no words."""
    return span.shade not in (Shade.WORKING, Shade.OFF)


def _why(hours: Hours, day: date, span: ShadedSpan) -> str:
    # The day stands at the head of the board: the hours' own words would name it again.
    return _why_closed(hours, day) if span.shade is Shade.CLOSED else span.label


def _why_closed(hours: Hours, day: date) -> str:
    """ "Christmas Day", "Holidays", or no more than that it is closed."""
    return hours.days.why_closed(day) or "Closed"


def _worked_by_site(hours: Hours, people: Iterable[User], day: date) -> dict[int, list[Rows]]:
    worked: dict[int, list[Rows]] = {}
    for person in people:
        for span in hours.day(person.pk, day):
            if span.is_working and span.site is not None:
                worked.setdefault(span.site, []).append(_rows(day, span.start, span.end))
    return worked


def _room_shape(hours: Hours, day: date, worked: Sequence[Rows], away: Iterable[Absence]) -> Shape:
    reasons = [(_rows(day, one.starts_at, one.ends_at), one.in_words) for one in away]
    reasons = [(rows, why) for rows, why in reasons if rows.count]
    if not hours.days.is_open(day):
        why = _why_closed(hours, day)
        return Shape(reasons=[(WHOLE_DAY, why)], closed=why)
    if not worked and not reasons:
        return Shape(reasons=[(WHOLE_DAY, "Nobody works here")])
    return Shape(open=without(worked, [rows for rows, _ in reasons]), reasons=reasons)


def _rows(day: date, start: datetime, end: datetime) -> Rows:
    return rows_on(day, timezone.localtime(start), timezone.localtime(end))

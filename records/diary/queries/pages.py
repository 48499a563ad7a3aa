"""What each page of the diary shows."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from clinic.rooms.models import Room
from clinic.sites.models import Site
from clinic.staff.models import User
from planning.diary_grid import ROWS_A_DAY, in_hours
from records.appointments.enums import AppointmentState
from records.diary.enums import By
from records.diary.queries.board import Board, board_of
from records.diary.queries.heads import (
    Head,
    day_address,
    people_heads,
    room_heads,
    week_heads,
)
from records.diary.queries.visits import (
    Booking,
    Visit,
    bookings_between,
    changes_of,
    mark_of,
    shown,
    visits_between,
)
from records.to_move.queries import TO_COME, in_the_way


@dataclass(frozen=True, slots=True)
class DiaryDay:
    """
    Attributes:
        mark: as of `mark_of`, of what is shown.
        cancelled: what had a time on this day and gave it up.
    """

    mark: str
    board: Board
    cancelled: list[Visit]


@dataclass(frozen=True, slots=True)
class DiaryWeek:
    """Of one person or room."""

    mark: str
    board: Board


@dataclass(frozen=True, slots=True)
class OverviewCell:
    """
    One person's day in a few words.

    Attributes:
        booked: "3 h 20 min" of the hours that can be booked, "" for none; `booked_percent` of them.
        free: what of them can still be booked, "" for none.
        is_over: the day has passed, so nothing is free and yet it need not have been full.
        closed: why nothing can be booked at all.
    """

    day: date
    url: str
    visits: int
    booked: str
    booked_percent: int
    free: str
    is_over: bool
    closed: str


@dataclass(frozen=True, slots=True)
class OverviewRow:
    title: str
    url: str
    cells: list[OverviewCell]


@dataclass(frozen=True, slots=True)
class Overview:
    """Everybody's week."""

    mark: str
    rows: list[OverviewRow]


def diary_day(day: date, by: By, site: Site | None, now: datetime) -> DiaryDay:
    """One day side by side: one query a kind of thing, however much is booked."""
    visits = visits_between(day, day)
    placed = shown(visits)
    if by == By.ROOM:
        heads = room_heads(day, placed, site, now)
    else:
        heads = people_heads([day], placed, site, now)[day]
    return DiaryDay(
        mark=mark_of(changes_of(visits), [day], now),
        board=board_of(heads, by, _in_the_way(placed, now)),
        cancelled=[visit for visit in visits if visit.state == AppointmentState.CANCELLED],
    )


def diary_week(days: Sequence[date], who: User | Room, now: datetime) -> DiaryWeek:
    """Some days of one person or room."""
    by = By.ROOM if isinstance(who, Room) else By.PRACTITIONER
    visits = visits_between(days[0], days[-1], who)
    placed = shown(visits)
    return DiaryWeek(
        mark=mark_of(changes_of(visits), days, now),
        board=board_of(week_heads(days, placed, who, now), by, _in_the_way(placed, now)),
    )


def _in_the_way(visits: Iterable[Visit], now: datetime) -> dict[int, str]:
    """Why some of them have to be moved, by their keys; days that are over ask for nothing."""
    return in_the_way([one for one in visits if one.state in TO_COME and one.starts_at >= now])


def overview(days: Sequence[date], site: Site | None, now: datetime) -> Overview:
    """Of everybody's days: how many visits each has, how much is booked and how much is free."""
    bookings = bookings_between(days[0], days[-1])
    heads = people_heads(days, shown(bookings), site, now)
    addresses = [day_address(day, By.PRACTITIONER) for day in days]
    rows = [
        OverviewRow(
            title=of_days[0].title,
            url=of_days[0].url,
            cells=[_cell(head, url) for head, url in zip(of_days, addresses, strict=True)],
        )
        for of_days in zip(*heads.values(), strict=True)
    ]
    return Overview(mark_of(changes_of(bookings), days, now), rows)


def _cell(head: Head[Booking], url: str) -> OverviewCell:
    free = sum(span.minutes for span in head.free)
    whole = sum(span.minutes for span in head.shape.open)
    reasons = [reason for _, reason in head.shape.reasons] or ["Not working"]
    return OverviewCell(
        day=head.day,
        url=url,
        visits=len(head.visits),
        booked=in_hours(head.booked_minutes) if head.booked_minutes else "",
        booked_percent=100 * head.booked_minutes // whole if whole else 0,
        free=in_hours(free) if free else "",
        is_over=head.past.count == ROWS_A_DAY,
        closed="" if whole else reasons[0],
    )

"""What each page of the diary shows."""

from dataclasses import dataclass
from datetime import date, datetime

from clinic.rooms.models import Room
from clinic.sites.models import Site
from clinic.staff.models import User
from planning.diary_grid import ROWS_A_DAY, in_hours
from records.diary.enums import By
from records.diary.queries.board import Board, board_of
from records.diary.queries.heads import (
    Head,
    day_address,
    people_heads,
    room_heads,
    week_address,
    week_heads,
    week_of,
)
from records.diary.queries.visits import Visit, shown, visits_between


@dataclass(frozen=True, slots=True)
class DiaryDay:
    """
    Attributes:
        cancelled: what had a time on this day and gave it up.
    """

    board: Board
    cancelled: list[Visit]


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


def diary_day(day: date, by: By, site: Site | None, now: datetime) -> DiaryDay:
    """One day side by side: one query a kind of thing, however much is booked."""
    visits = visits_between(day, day)
    placed = shown(visits)
    if by == By.ROOM:
        heads = room_heads(day, placed, site, now)
    else:
        heads = people_heads([day], placed, site, now)[day]
    return DiaryDay(
        board=board_of(heads, by),
        cancelled=[visit for visit in visits if not shown([visit])],
    )


def diary_week(day: date, who: User | Room, now: datetime) -> Board:
    """Seven days of one person or room."""
    days = week_of(day)
    by = By.ROOM if isinstance(who, Room) else By.PRACTITIONER
    visits = shown(visits_between(days[0], days[-1], who))
    return board_of(week_heads(days, visits, who, now), by)


def overview(day: date, site: Site | None, now: datetime) -> list[OverviewRow]:
    """Everybody's week: how many visits each day has, how much is booked and how much is free."""
    days = week_of(day)
    heads = people_heads(days, shown(visits_between(days[0], days[-1])), site, now)
    return [
        OverviewRow(
            title=of_days[0].title,
            url=week_address(days[0], practitioner=of_days[0].practitioner_id or 0),
            cells=[_cell(head) for head in of_days],
        )
        for of_days in zip(*heads.values(), strict=True)
    ]


def _cell(head: Head) -> OverviewCell:
    free = sum(span.minutes for span in head.free)
    whole = sum(span.minutes for span in head.shape.open)
    reasons = [reason for _, reason in head.shape.reasons] or ["Not working"]
    return OverviewCell(
        day=head.day,
        url=day_address(head.day, By.PRACTITIONER),
        visits=len(head.visits),
        booked=in_hours(head.booked_minutes) if head.booked_minutes else "",
        booked_percent=100 * head.booked_minutes // whole if whole else 0,
        free=in_hours(free) if free else "",
        is_over=head.past.count == ROWS_A_DAY,
        closed="" if whole else reasons[0],
    )

"""What stands at the head of the columns: a day's people or rooms, or one of them for a week."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Generic
from urllib.parse import urlencode

from django.db.models import Q
from django.urls import reverse
from django.utils.functional import cached_property

from clinic.rooms.models import Room
from clinic.sites.models import Site
from clinic.staff.models import User
from planning.diary_grid import Rows, in_hours, past_rows, without
from records.diary.enums import By
from records.diary.queries.open_time import Shape, people_shapes, room_shapes
from records.diary.queries.visits import AnyBooking, Booking, Visit

DAYS_A_WEEK = 7


@dataclass(frozen=True)
class Head(Generic[AnyBooking]):
    """
    What a column is about, before anything is placed in it.

    Attributes:
        past: the rows of its day that are over.
        site: of a room, where the clinic has several.
    """

    key: str
    title: str
    day: date
    shape: Shape
    visits: list[AnyBooking]
    past: Rows
    practitioner_id: int | None = None
    room_id: int | None = None
    site: str = ""
    url: str = ""

    @cached_property
    def held(self) -> list[Rows]:
        """What nobody else can be booked into."""
        return [visit.held_rows for visit in self.visits if visit.state.takes_place]

    @cached_property
    def free(self) -> list[Rows]:
        """What can still be booked."""
        return without(self.shape.open, [*self.held, self.past])

    @cached_property
    def booked_minutes(self) -> int:
        """How much of what can be booked is taken, now and earlier in the day."""
        left = sum(span.minutes for span in without(self.shape.open, self.held))
        return sum(span.minutes for span in self.shape.open) - left

    @property
    def notes(self) -> list[str]:
        """ "5 visits" and, if any is, "3 h free"."""
        count = len(self.visits)
        minutes = sum(span.minutes for span in self.free)
        visits = f"{count} visit{'' if count == 1 else 's'}"
        return [visits, f"{in_hours(minutes)} free"] if minutes else [visits]


def week_of(day: date) -> list[date]:
    """Monday to Sunday around `day`."""
    monday = day - timedelta(days=day.weekday())
    return [monday + timedelta(days=number) for number in range(DAYS_A_WEEK)]


def day_address(day: date, by: By) -> str:
    return f"{reverse('diary')}?{urlencode({'day': day.isoformat(), 'by': by.value})}"


def week_address(day: date, **who: int) -> str:
    """Of `practitioner=3`, `room=2` or, without, of everybody."""
    return f"{reverse('diary-week')}?{urlencode({'day': day.isoformat(), **who})}"


def people_of(visits: Iterable[Booking]) -> list[User]:
    """Whoever can be booked, and whoever else has a visit: one query."""
    booked = {visit.practitioner_id for visit in visits}
    return list(User.objects.filter(Q(is_injector=True, is_active=True) | Q(pk__in=booked)))


def rooms_of(visits: Iterable[Visit], site: Site | None) -> list[Room]:
    """The rooms in use, and whatever other room has a visit: one query."""
    booked = {visit.room_id for visit in visits if visit.room_id}
    in_use = Q(is_active=True, site__is_active=True) | Q(pk__in=booked)
    rooms = Room.objects.filter(in_use).select_related("site")
    return list(rooms.filter(site=site) if site else rooms)


def people_heads(
    days: Sequence[date], visits: Sequence[AnyBooking], site: Site | None, now: datetime
) -> dict[date, list[Head[AnyBooking]]]:
    """
    One column a person, for each of the days, the same people in each.

    Of one site: those who work or have a visit there on one of the days, all if nobody does. Their
    visits at other sites stay in sight, because that time is taken.
    """
    people = people_of(visits)
    shapes = people_shapes(people, days, now.date())
    if site:
        there = {visit.practitioner_id for visit in visits if visit.site_id == site.pk}
        there |= {
            key
            for key, by_day in shapes.items()
            if any(site.pk in s.sites for s in by_day.values())
        }
        people = [person for person in people if person.pk in there] or people
    own = _grouped(visits, lambda visit: visit.practitioner_id)
    week = reverse("diary-week")
    past = {day: past_rows(day, now) for day in days}
    return {
        day: [
            Head(
                key=f"p{person.pk}",
                title=person.full_name,
                day=day,
                shape=shapes[person.pk][day],
                visits=own.get((day, person.pk), []),
                past=past[day],
                practitioner_id=person.pk,
                url=f"{week}?day={day}&practitioner={person.pk}",
            )
            for person in people
        ]
        for day in days
    }


def room_heads(
    day: date, visits: Sequence[Visit], site: Site | None, now: datetime
) -> list[Head[Visit]]:
    """One column a room, and one for what is not in a room where there is anything."""
    rooms = rooms_of(visits, site)
    shapes = room_shapes(rooms, people_of(visits), [day], now.date())
    own = _grouped(visits, lambda visit: visit.room_id)
    past = past_rows(day, now)
    is_one_site = len({room.site_id for room in rooms}) == 1
    heads = [
        Head(
            key=f"r{room.pk}",
            title=room.name,
            site="" if is_one_site else room.site.name,
            day=day,
            shape=shapes[room.pk][day],
            visits=own.get((day, room.pk), []),
            past=past,
            room_id=room.pk,
            url=week_address(day, room=room.pk),
        )
        for room in rooms
    ]
    if roomless := own.get((day, None)):
        # Nothing is offered there: a room is chosen when booking.
        heads.append(
            Head(key="r0", title="No room", day=day, shape=Shape(), visits=roomless, past=past)
        )
    return heads


def week_heads(
    days: Sequence[date], visits: Sequence[Visit], who: User | Room, now: datetime
) -> list[Head[Visit]]:
    """One column a day, all of one person or room."""
    if isinstance(who, Room):
        by, shapes = By.ROOM, room_shapes([who], people_of(visits), days, now.date())[who.pk]
        own = _grouped(visits, lambda visit: visit.room_id)
    else:
        by, shapes = By.PRACTITIONER, people_shapes([who], days, now.date())[who.pk]
        own = _grouped(visits, lambda visit: visit.practitioner_id)
    return [
        Head(
            key=f"d{day.isoformat()}",
            title=f"{day:%A} {day.day} {day:%b}",
            day=day,
            shape=shapes[day],
            visits=own.get((day, who.pk), []),
            past=past_rows(day, now),
            practitioner_id=who.pk if by == By.PRACTITIONER else None,
            room_id=who.pk if by == By.ROOM else None,
            url=day_address(day, by),
        )
        for day in days
    ]


def _grouped(
    visits: Iterable[AnyBooking], key: Callable[[AnyBooking], int | None]
) -> dict[tuple, list[AnyBooking]]:
    """By day and key, in their order."""
    groups: dict[tuple, list[AnyBooking]] = {}
    for visit in visits:
        groups.setdefault((visit.starts_at.date(), key(visit)), []).append(visit)
    return groups

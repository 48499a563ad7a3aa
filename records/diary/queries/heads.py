"""What stands at the head of the columns: a day's people or rooms, or one of them for a week."""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from urllib.parse import urlencode

from django.db.models import Q
from django.urls import reverse

from clinic.rooms.models import Room
from clinic.sites.models import Site
from clinic.staff.models import User
from records.diary.enums import By
from records.diary.queries.board import Head
from records.diary.queries.open_time import Shape, people_shapes, room_shapes
from records.diary.queries.visits import Visit

DAYS_A_WEEK = 7


def week_of(day: date) -> list[date]:
    """Monday to Sunday around `day`."""
    monday = day - timedelta(days=day.weekday())
    return [monday + timedelta(days=number) for number in range(DAYS_A_WEEK)]


def day_address(day: date, by: By) -> str:
    return f"{reverse('diary')}?{urlencode({'day': day.isoformat(), 'by': by.value})}"


def week_address(day: date, **who: int) -> str:
    """Of `practitioner=3`, `room=2` or, without, of everybody."""
    return f"{reverse('diary-week')}?{urlencode({'day': day.isoformat(), **who})}"


def people_of(visits: Iterable[Visit]) -> list[User]:
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
    days: Sequence[date], visits: Sequence[Visit], site: Site | None
) -> dict[date, list[Head]]:
    """
    One column a person, for each of the days, the same people in each.

    Of one site: those who work or have a visit there on one of the days, all if nobody does. Their
    visits at other sites stay in sight, because that time is taken.
    """
    people = people_of(visits)
    shapes = people_shapes(people, days)
    if site:
        there = {visit.practitioner_id for visit in visits if visit.site_id == site.pk}
        there |= {
            key
            for key, by_day in shapes.items()
            if any(site.pk in s.sites for s in by_day.values())
        }
        people = [person for person in people if person.pk in there] or people
    own = _grouped(visits, lambda visit: visit.practitioner_id)
    return {
        day: [
            Head(
                key=f"p{person.pk}",
                title=person.full_name,
                day=day,
                shape=shapes[person.pk][day],
                visits=own.get((day, person.pk), []),
                practitioner_id=person.pk,
                url=week_address(day, practitioner=person.pk),
            )
            for person in people
        ]
        for day in days
    }


def room_heads(day: date, visits: Sequence[Visit], site: Site | None) -> list[Head]:
    """One column a room, and one for what is not in a room where there is anything."""
    rooms = rooms_of(visits, site)
    shapes = room_shapes(rooms, people_of(visits), [day])
    own = _grouped(visits, lambda visit: visit.room_id)
    is_one_site = len({room.site_id for room in rooms}) == 1
    heads = [
        Head(
            key=f"r{room.pk}",
            title=room.name if is_one_site else f"{room.name}, {room.site.name}",
            day=day,
            shape=shapes[room.pk][day],
            visits=own.get((day, room.pk), []),
            room_id=room.pk,
            url=week_address(day, room=room.pk),
        )
        for room in rooms
    ]
    if roomless := own.get((day, None)):
        # Nothing is offered there: a room is chosen when booking.
        heads.append(Head(key="r0", title="No room", day=day, shape=Shape(), visits=roomless))
    return heads


def week_heads(days: Sequence[date], visits: Sequence[Visit], who: User | Room) -> list[Head]:
    """One column a day, all of one person or room."""
    if isinstance(who, Room):
        by, shapes = By.ROOM, room_shapes([who], people_of(visits), days)[who.pk]
        own = _grouped(visits, lambda visit: visit.room_id)
    else:
        by, shapes = By.PRACTITIONER, people_shapes([who], days)[who.pk]
        own = _grouped(visits, lambda visit: visit.practitioner_id)
    return [
        Head(
            key=f"d{day.isoformat()}",
            title=f"{day:%A} {day.day} {day:%b}",
            day=day,
            shape=shapes[day],
            visits=own.get((day, who.pk), []),
            practitioner_id=who.pk if by == By.PRACTITIONER else None,
            room_id=who.pk if by == By.ROOM else None,
            url=day_address(day, by),
        )
        for day in days
    ]


def _grouped(visits, key) -> dict[tuple, list[Visit]]:
    """By day and key, in their order."""
    groups: dict[tuple, list[Visit]] = {}
    for visit in visits:
        groups.setdefault((visit.starts_at.date(), key(visit)), []).append(visit)
    return groups

"""
When people work: their weekly hours, less absences, closures, public holidays and closed weekdays.

`read_hours` reads everything for some people and days in a constant number of queries.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from operator import attrgetter

from django.utils import timezone

from clinic.database.moments import moment_at
from clinic.hours.models import WEEKDAYS, Absence, WorkingTime
from clinic.policy.queries import OPENING, current_policy, open_days
from clinic.rooms.models import Room
from clinic.sites.models import Site
from clinic.staff.models import User
from planning.day_shapes import AwaySpan, ShadedSpan, WorkSpan, closed_day, day_shape
from planning.free_slots import CELL_SECONDS, Span, WorkingSpan
from planning.review_dates import OpenDays

# Of a person nobody has set hours for, so that a new clinic can book. Common practice, no source.
DEFAULT_HOURS = time(9), time(17)
LISTED_FOR = timedelta(days=366)
"""How long an absence that is over can still be corrected."""
NO_SITE = 0
"""Where a person without hours works while the clinic has no site."""


@dataclass(frozen=True, slots=True)
class Hours:
    """
    The working times of some people from the day `first` to the day `last`.

    Attributes:
        times, away: by the id of the person; whoever is not in `times` has no hours of their own.
        default_site: where they work then; looked up where somebody is without hours.
    """

    first: date
    last: date
    days: OpenDays
    times: Mapping[int, Sequence[WorkingTime]]
    away: Mapping[int, Sequence[AwaySpan]]
    default_site: int
    _shapes: dict[tuple[int, date], list[ShadedSpan]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def day(self, person_id: int, day: date) -> list[ShadedSpan]:
        """
        The person's day without a gap: working, break, off, absent or closed.

        Raises:
            ValueError: a day for which nothing was read.
        """
        if not self.first <= day <= self.last:
            raise ValueError(f"The hours were read from {self.first} to {self.last}.")
        if (person_id, day) not in self._shapes:
            self._shapes[person_id, day] = self._shape(person_id, day)
        return self._shapes[person_id, day]

    def _shape(self, person_id: int, day: date) -> list[ShadedSpan]:
        start, end = moment_at(day), moment_at(day + timedelta(days=1))
        if not self.days.is_open(day):
            return closed_day(start, end, self.days.closed_in_words(day))
        return day_shape(start, end, self._work(person_id, day), self.away.get(person_id, ()))

    def _work(self, person_id: int, day: date) -> Iterator[WorkSpan]:
        if person_id not in self.times:
            starts, ends = DEFAULT_HOURS
            yield WorkSpan(moment_at(day, starts), moment_at(day, ends), self.default_site)
            return
        for row in self.times[person_id]:
            if row.holds_on(day):
                yield WorkSpan(moment_at(day, row.starts), moment_at(day, row.ends), row.site_id)

    def open_days(self, first: date, last: date) -> list[date]:
        """The days of them, both included, on which the clinic opens."""
        every_day = (first + timedelta(days=offset) for offset in range((last - first).days + 1))
        return [day for day in every_day if self.days.is_open(day)]

    def spans(
        self, person_ids: Iterable[int], days: Sequence[date] | None = None
    ) -> list[WorkingSpan]:
        """
        For `planning.free_slots`, in the order of the people.

        Args:
            days: those that are asked for, of `open_days`; None for all that were read.
        """
        if days is None:
            days = self.open_days(self.first, self.last)
        return [
            WorkingSpan(person_id, span.site, *_inner_cells(span.start, span.end))
            for person_id in person_ids
            for day in days
            for span in self._worked(person_id, day)
        ]

    def _worked(self, person_id: int, day: date) -> Iterable[WorkSpan]:
        """What is left of the work of an open day beside absences."""
        work = list(self._work(person_id, day))
        away = self.away.get(person_id, ())
        if not any(one.start < span.end and one.end > span.start for one in away for span in work):
            return work
        return [
            WorkSpan(part.start, part.end, part.site)
            for part in self.day(person_id, day)
            if part.site is not None
        ]

    def why_not(self, person_id: int, start: datetime, end: datetime) -> str:
        """What keeps the person from working all the time from `start` to `end`; "" if nothing."""
        day, last = timezone.localdate(start), timezone.localdate(end)
        while day <= last:
            for part in self.day(person_id, day):
                if not part.is_working and part.start < end and part.end > start:
                    return part.label
            day += timedelta(days=1)
        return ""

    def site_at(self, person_id: int, moment: datetime) -> int | None:
        """Where the person works then; None if they do not, or have no hours of their own."""
        if person_id not in self.times:
            return None
        shape = self.day(person_id, timezone.localdate(moment))
        return next((part.site for part in shape if part.start <= moment < part.end), None)


def _inner_cells(start: datetime, end: datetime) -> Span:
    """The whole cells in it."""
    return -(-int(start.timestamp()) // CELL_SECONDS), int(end.timestamp()) // CELL_SECONDS


def _outer_cells(start: datetime, end: datetime) -> Span:
    """Every cell it touches."""
    return int(start.timestamp()) // CELL_SECONDS, -(-int(end.timestamp()) // CELL_SECONDS)


def read_hours(
    people: Iterable[User], first: date, last: date, *, days: OpenDays | None = None
) -> Hours:
    """
    The hours of these people on these days, both included: at most five queries.

    Args:
        days: when the clinic opens, of a caller who has read it.
    """
    person_ids = {person.pk for person in people}
    times: dict[int, list[WorkingTime]] = {}
    for row in WorkingTime.objects.filter(person_id__in=person_ids).order_by("starts"):
        times.setdefault(row.person_id, []).append(row)
    away: dict[int, list[AwaySpan]] = {}
    for absence in _absences_between(first, last).filter(person_id__in=person_ids):
        span = AwaySpan(absence.starts_at, absence.ends_at, absence.in_words)
        away.setdefault(absence.person_id, []).append(span)
    default_site = NO_SITE
    if person_ids - times.keys():
        default_site = Site.objects.in_use().values_list("pk", flat=True).first() or NO_SITE
    days = days or open_days(current_policy(only=OPENING), on_or_after=first)
    return Hours(first, last, days, times, away, default_site)


def working_spans(people: Sequence[User], first: date, last: date) -> list[WorkingSpan]:
    """When and where these people work from `first` to `last`, for `planning.free_slots`."""
    return read_hours(people, first, last).spans(map(attrgetter("pk"), people))


def day_shapes(people: Sequence[User], day: date) -> dict[int, list[ShadedSpan]]:
    """Each person's day without a gap, by id; for the diary to shade."""
    hours = read_hours(people, day, day)
    return {person.pk: hours.day(person.pk, day) for person in people}


def rooms_away(rooms: Iterable[Room], first: date, last: date) -> dict[int, list[Span]]:
    """The cells in which rooms are out of order, by the id of the room: one query."""
    away: dict[int, list[Span]] = {}
    for absence in _absences_between(first, last).filter(room__in=list(rooms)):
        away.setdefault(absence.room_id, []).append(
            _outer_cells(absence.starts_at, absence.ends_at)
        )
    return away


def why_not(person: User, start: datetime, end: datetime | None = None) -> str:
    """
    Why the person does not work at a moment, or all the time to before `end`: "Leave", "Break",
    "Not at work", "The clinic is closed on ..."; "" where they do.
    """
    end = end or start + timedelta(seconds=CELL_SECONDS)
    hours = read_hours([person], timezone.localdate(start), timezone.localdate(end))
    return hours.why_not(person.pk, start, end)


def site_at(person: User, moment: datetime) -> int | None:
    """Where the weekly hours have the person then, away or not; None outside of any: one query."""
    local = timezone.localtime(moment)
    times = WorkingTime.objects.on(local.date()).filter(
        person=person, starts__lte=local.time(), ends__gt=local.time()
    )
    return times.values_list("site", flat=True).first()


def room_why_not(room: Room, start: datetime, end: datetime) -> str:
    """Why nobody can be seen in the room in that time: "Out of order: new floor"; "" if nothing."""
    absence = Absence.objects.filter(room=room).between(start, end).first()
    return absence.in_words if absence else ""


def opens_on(weekday: int) -> bool:
    """Whether the clinic is open on this weekday, by ISO 8601, as a rule."""
    return weekday in current_policy().open_weekdays


def _absences_between(first: date, last: date):
    start, end = moment_at(first), moment_at(last + timedelta(days=1))
    return Absence.objects.between(start, end)


@dataclass(frozen=True, slots=True)
class Weekday:
    """
    One weekday of one person's week, as the owner sees it.

    Attributes:
        times: what holds now or begins later.
        now: those of them that hold on the next such day.
        is_open: whether the clinic is open on it as a rule; hours of another day are not booked.
    """

    number: int
    name: str
    times: list[WorkingTime] = field(default_factory=list)
    now: list[WorkingTime] = field(default_factory=list)
    is_open: bool = True


@dataclass(frozen=True, slots=True)
class PersonWeek:
    person: User
    days: list[Weekday]

    @property
    def has_hours(self) -> bool:
        return any(day.times for day in self.days)


def weeks(today: date) -> list[PersonWeek]:
    """The week of everybody who can be booked: three queries."""
    people = list(User.objects.filter(is_injector=True, is_active=True))
    rows = WorkingTime.objects.filter(person__in=people).not_over_by(today).select_related("site")
    by_person: dict[int, list[WorkingTime]] = {}
    for row in rows:
        by_person.setdefault(row.person_id, []).append(row)
    opened = current_policy().open_weekdays
    return [PersonWeek(one, _days(by_person.get(one.pk, ()), today, opened)) for one in people]


def week_of(person: User, today: date) -> PersonWeek:
    rows = person.working_times.not_over_by(today).select_related("site")
    return PersonWeek(person, _days(rows, today, current_policy().open_weekdays))


def _days(rows: Iterable[WorkingTime], today: date, opened: Collection[int]) -> list[Weekday]:
    days = {number: Weekday(number, name, is_open=number in opened) for number, name in WEEKDAYS}
    for row in rows:
        day = days[row.weekday]
        day.times.append(row)
        if row.holds_on(today + timedelta(days=(row.weekday - today.isoweekday()) % 7)):
            day.now.append(row)
    return list(days.values())

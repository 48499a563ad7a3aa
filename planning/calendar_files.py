"""
Calendar files: invitations by e-mail, a single appointment as a file, and a person's whole diary.

Source: RFC 5545 (the file), RFC 5546 (invitations and what follows them).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from icalendar import (
    Calendar,
    Event,
    Timezone,
    TimezoneDaylight,
    TimezoneStandard,
    vCalAddress,
    vDuration,
)

from planning.vocabulary import Term

MAKER = "-//Aesthetic clinic diary//EN"
# A zone's rules are written for the days of the entries and this long around them.
_AROUND = timedelta(days=370)
_STEP = timedelta(days=7)


class Method(Term):
    """What a file asks of the calendar that reads it (RFC 5546, section 3.2)."""

    REQUEST = "REQUEST", "Invitation"
    CANCEL = "CANCEL", "Cancellation"


class Status(Term):
    """RFC 5545, section 3.8.1.11."""

    TENTATIVE = "TENTATIVE", "Tentative"
    CONFIRMED = "CONFIRMED", "Confirmed"
    CANCELLED = "CANCELLED", "Cancelled"


@dataclass(frozen=True, slots=True)
class Entry:
    """
    One appointment as a calendar knows it.

    Attributes:
        uid: the same for all that is ever said of it.
        sequence: rises with each change that matters to whoever comes.
        said_at: when this state of it was first told.
        starts_at, ends_at: aware; written by the clock of the calendar's zone.
    """

    uid: str
    said_at: datetime
    starts_at: datetime
    ends_at: datetime
    summary: str
    status: Status = Status.CONFIRMED
    sequence: int = 0
    location: str = ""
    description: str = ""
    is_private: bool = False


@dataclass(frozen=True, slots=True)
class Sender:
    """Who invites: the clinic's name and e-mail address."""

    name: str
    email: str


@dataclass(frozen=True, slots=True)
class Invited:
    """Who is invited, by nothing but the address; answers come by other ways."""

    email: str


@dataclass(frozen=True, slots=True)
class CalendarFile:
    """
    What a file holds.

    Attributes:
        zone: whose clock the times are told by.
        name: shown for a diary that is subscribed to.
        refresh: how often such a diary is worth asking for.
    """

    entries: Sequence[Entry]
    zone: ZoneInfo
    name: str = ""
    refresh: timedelta | None = None
    people: tuple[Sender, Invited] | None = None
    method: Method | None = None

    def __post_init__(self) -> None:
        if (self.method is None) != (self.people is None):
            raise ValueError("An invitation names who invites and who is invited.")


def calendar_bytes(file: CalendarFile) -> bytes:
    """The file in UTF-8, its lines ended and folded as RFC 5545, section 3.1 asks."""
    calendar = Calendar()
    calendar.add("prodid", MAKER)
    calendar.add("version", "2.0")
    if file.method is not None:
        calendar.add("method", str(file.method))
    if file.name:
        # Before RFC 7986 gave it a name of its own, programs agreed on the second.
        calendar.add("name", file.name)
        calendar.add("x-wr-calname", file.name)
    if file.refresh is not None:
        refresh = vDuration(file.refresh)
        refresh.params["VALUE"] = "DURATION"
        calendar.add("refresh-interval", refresh)
        calendar.add("x-published-ttl", vDuration(file.refresh))
    if file.entries:
        first = min(entry.starts_at for entry in file.entries)
        last = max(entry.ends_at for entry in file.entries)
        calendar.add_component(zone_rules(file.zone, first - _AROUND, last + _AROUND))
    for entry in file.entries:
        calendar.add_component(_event(entry, file))
    content: bytes = calendar.to_ical()
    return content


def _event(entry: Entry, file: CalendarFile) -> Event:
    event = Event()
    event.add("uid", entry.uid)
    event.add("dtstamp", entry.said_at.astimezone(UTC))
    event.add("last-modified", entry.said_at.astimezone(UTC))
    event.add("sequence", entry.sequence)
    event.add("dtstart", entry.starts_at.astimezone(file.zone))
    event.add("dtend", entry.ends_at.astimezone(file.zone))
    event.add("summary", entry.summary)
    event.add("status", str(entry.status))
    event.add("transp", "TRANSPARENT" if entry.status is Status.CANCELLED else "OPAQUE")
    for name, text in (("location", entry.location), ("description", entry.description)):
        if text:
            event.add(name, text)
    if entry.is_private:
        event.add("class", "PRIVATE")
    if file.people is not None:
        sender, invited = file.people
        organizer = vCalAddress(f"mailto:{sender.email}")
        organizer.params["CN"] = sender.name
        event.add("organizer", organizer)
        attendee = vCalAddress(f"mailto:{invited.email}")
        attendee.params.update({"ROLE": "REQ-PARTICIPANT", "RSVP": "FALSE"})
        event.add("attendee", attendee)
    return event


def zone_rules(zone: ZoneInfo, first: datetime, last: datetime) -> Timezone:
    """
    The zone's clock changes from `first` to `last`, each on its own.

    Written here, because icalendar 7.3 tells the onset of summer time by the new clock, where RFC
    5545, section 3.6.5 wants the time that the old one showed.
    """
    rules = Timezone()
    rules.add("tzid", zone.key)
    rules.add_component(_onset(zone, first.astimezone(UTC), before=_offset(zone, first)))
    for moment in clock_changes(zone, first, last):
        before = _offset(zone, moment - timedelta(seconds=1))
        rules.add_component(_onset(zone, moment, before=before))
    return rules


def _onset(
    zone: ZoneInfo, moment: datetime, *, before: timedelta
) -> TimezoneStandard | TimezoneDaylight:
    """From `moment` (UTC) on the zone's clock runs as it does then; until it, `before` UTC."""
    after = moment.astimezone(zone)
    part = TimezoneDaylight() if after.dst() else TimezoneStandard()
    part.add("dtstart", (moment + before).replace(tzinfo=None, microsecond=0))
    part.add("tzoffsetfrom", before)
    part.add("tzoffsetto", after.utcoffset())
    part.add("tzname", after.tzname())
    return part


def clock_changes(zone: ZoneInfo, first: datetime, last: datetime) -> Iterator[datetime]:
    """Each moment (UTC, to the second) after `first` at which the zone's offset changes."""
    moment, end = first.astimezone(UTC).replace(microsecond=0), last.astimezone(UTC)
    while moment < end:
        following = moment + _STEP
        if _offset(zone, moment) != _offset(zone, following):
            yield _change_between(zone, moment, following)
        moment = following


def _change_between(zone: ZoneInfo, before: datetime, after: datetime) -> datetime:
    while after - before > timedelta(seconds=1):
        middle = before + timedelta(seconds=(after - before) // timedelta(seconds=2))
        if _offset(zone, middle) == _offset(zone, before):
            before = middle
        else:
            after = middle
    return after


def _offset(zone: ZoneInfo, moment: datetime) -> timedelta:
    return moment.astimezone(zone).utcoffset() or timedelta()

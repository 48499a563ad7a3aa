"""The visits of a span of days, in one query, as the diary shows them."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, fields
from datetime import date, datetime, timedelta
from hashlib import sha256
from typing import TypeVar

from django.db.models import Exists, F, OuterRef, QuerySet, TextField
from django.db.models.functions import Cast, Coalesce
from django.utils import timezone
from django.utils.functional import cached_property

from clinic.database.expressions import EpochSeconds
from clinic.rooms.models import Room
from clinic.staff.models import User
from clinic.visit_kinds.enums import AppointmentKind
from planning.diary_grid import Rows, row_of, rows_of
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment, start_of
from records.patients.enums import AlertLevel
from records.patients.models import Alert
from records.reminders.enums import AnswerKind
from records.reminders.queries import asked_about

LOUD = [AlertLevel.STOP, AlertLevel.CAUTION]


@dataclass(frozen=True)
class Booking:
    """
    The time of one appointment: as much of it as everybody's week in short needs.

    Attributes:
        site_id: of the appointment, or of its room; None where neither says.
        starts_at: by the clinic's clock.
        last_change: when that was, as the database writes it.
        asked: what the patient asks for by an answer that nobody settled; None for nothing.
    """

    pk: int
    practitioner_id: int
    room_id: int | None
    site_id: int | None
    state: AppointmentState
    starts_at: datetime
    minutes: int
    preparation_minutes: int
    buffer_minutes: int
    last_change: str
    asked: AnswerKind | None

    @cached_property
    def rows(self) -> Rows:
        """Where the patient is seen."""
        return rows_of(self.starts_at, self.minutes)

    @cached_property
    def held_rows(self) -> Rows:
        """Where practitioner and room are taken: preparation and buffer as well."""
        before, after = self.preparation_minutes, self.buffer_minutes
        return rows_of(self.starts_at, self.minutes, before=before, after=after)

    @property
    def ends_at(self) -> datetime:
        # On the wall clock: a visit across a change of the clocks shows its length.
        return self.starts_at + timedelta(minutes=self.minutes)


@dataclass(frozen=True)
class Visit(Booking):
    """
    One appointment as the board shows it, without the models behind it: a page has 200 of them.

    Attributes:
        site: of `site_id`.
        has_alert: there is an alert that must not be missed. Which one is not told here.
    """

    patient_id: int
    patient: str
    practitioner: str
    room: str | None
    site: str | None
    kind: AppointmentKind
    late_minutes: int
    cancel_reason: str
    has_alert: bool


# Its word is enough to see that there was another one, and making a datetime of it takes longer
# than all the rest that is read of a booking.
_LAST_CHANGE = Cast("changed_at", TextField())

AnyBooking = TypeVar("AnyBooking", bound=Booking)

# Attributes that are no column of the same name.
_COLUMNS = {
    "site_id": "at_site",
    "starts_at": "start",
    "patient": "patient__full_name",
    "practitioner": "practitioner__full_name",
    "room": "room__name",
    "site": "site_name",
}


def bookings_between(first: date, last: date) -> list[Booking]:
    """All that start from `first` to `last`, cancelled ones too, in their order: one query."""
    return list(_read(Booking, _starting(first, last, None)))


def visits_between(first: date, last: date, who: User | Room | None = None) -> list[Visit]:
    """
    As `bookings_between`, with all that the board shows of them: one query.

    Args:
        who: only those with this person or in this room.
    """
    visits = _starting(first, last, who).annotate(
        has_alert=has_alert(), site_name=Coalesce("site__name", F("room__site__name"))
    )
    return list(_read(Visit, visits))


def _read(what: type[AnyBooking], visits: QuerySet[Appointment]) -> Iterator[AnyBooking]:
    """Each of them as `what`, whose attributes say which columns are asked for."""
    names = [each.name for each in fields(what)]
    rows = (
        visits.annotate(
            at_site=Coalesce("site_id", F("room__site_id")),
            start=EpochSeconds("starts_at"),
            last_change=_LAST_CHANGE,
            asked=asked_about(),
        )
        .order_by("starts_at", "pk")
        .values_list(*(_COLUMNS.get(name, name) for name in names))
    )
    zone = timezone.get_current_timezone()
    for row in rows:
        values = dict(zip(names, row, strict=True))
        values["state"] = AppointmentState(values["state"])
        values["starts_at"] = datetime.fromtimestamp(values["starts_at"], zone)
        values["asked"] = AnswerKind(values["asked"]) if values["asked"] else None
        if "kind" in values:
            values["kind"] = AppointmentKind(values["kind"])
        yield what(**values)


# Of a visit: its key, its last change, what the patient asks for by an answer ("" for nothing).
Change = tuple[int, str, str]


def changes_between(first: date, last: date, who: User | Room | None = None) -> Iterable[Change]:
    """The last change of each of `visits_between`: one query."""
    visits = _starting(first, last, who).annotate(last_change=_LAST_CHANGE, asked=asked_about())
    return visits.values_list("pk", "last_change", "asked")


def changes_of(bookings: Iterable[Booking]) -> Iterable[Change]:
    """The same of what was read already."""
    return ((one.pk, one.last_change, one.asked or "") for one in bookings)


def mark_of(changes: Iterable[Change], days: Sequence[date], now: datetime) -> str:
    """
    A word that differs as soon as one of the visits on `days` came, went or changed.

    While `now`, by the clinic's clock, is one of the days it differs every five minutes: free time
    goes by itself.

    It is made of every visit's last change, and of what patients ask for by an answer. The number
    of visits and the latest change alone would miss an act that began before the last one seen and
    was stored after it.
    """
    text = " ".join(f"{pk}@{change}{asked}" for pk, change, asked in sorted(changes))
    if now.date() in days:
        text += f" {row_of(now.time())}"
    return sha256(text.encode()).hexdigest()[:16]


def has_alert() -> Exists:
    """For appointments: whether the patient has an alert that must not be missed."""
    return Exists(Alert.objects.current().filter(patient=OuterRef("patient"), level__in=LOUD))


def has_loud_alert(patient_id: int) -> bool:
    """Whether the patient has an alert that must not be missed."""
    return Alert.objects.current().filter(patient=patient_id, level__in=LOUD).exists()


def shown(bookings: Iterable[AnyBooking]) -> list[AnyBooking]:
    """Those that have a place in the grid; a cancelled one has given it up."""
    return [one for one in bookings if one.state != AppointmentState.CANCELLED]


def _starting(first: date, last: date, who: User | Room | None) -> QuerySet[Appointment]:
    following = start_of(last + timedelta(days=1))
    visits = Appointment.objects.filter(starts_at__gte=start_of(first), starts_at__lt=following)
    if who is None:
        return visits
    return visits.filter(room=who) if isinstance(who, Room) else visits.filter(practitioner=who)

"""The visits of a span of days, in one query, as the diary shows them."""

from collections.abc import Iterable
from dataclasses import dataclass, field, fields
from datetime import date, datetime, timedelta
from hashlib import sha256

from django.db.models import Exists, F, OuterRef, QuerySet
from django.db.models.functions import Coalesce
from django.utils import timezone

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


@dataclass(frozen=True, slots=True)
class Visit:
    """
    One appointment, without the models behind it: 200 of them are built for a page.

    Attributes:
        starts_at: by the clinic's clock.
        site_id, site: of the appointment, or of its room; None where neither says.
        has_alert: there is an alert that must not be missed. Which one is not told here.
        asked: in words what the patient asks for by an answer that nobody settled, or "".
        rows: where the patient is seen.
        held_rows: where practitioner and room are taken: preparation and buffer as well.
    """

    pk: int
    patient_id: int
    patient: str
    practitioner_id: int
    practitioner: str
    room_id: int | None
    room: str | None
    site_id: int | None
    site: str | None
    kind: AppointmentKind
    state: AppointmentState
    starts_at: datetime
    minutes: int
    preparation_minutes: int
    buffer_minutes: int
    late_minutes: int
    cancel_reason: str
    has_alert: bool
    asked: str
    rows: Rows = field(init=False)
    held_rows: Rows = field(init=False)

    def __post_init__(self) -> None:
        around = {"before": self.preparation_minutes, "after": self.buffer_minutes}
        rows = rows_of(self.starts_at, self.minutes)
        held = rows_of(self.starts_at, self.minutes, **around) if any(around.values()) else rows
        object.__setattr__(self, "rows", rows)
        object.__setattr__(self, "held_rows", held)

    @property
    def ends_at(self) -> datetime:
        # On the wall clock: a visit across a change of the clocks shows its length.
        return self.starts_at + timedelta(minutes=self.minutes)


# In the order of the attributes.
_COLUMNS = (
    "pk", "patient_id", "patient__full_name", "practitioner_id", "practitioner__full_name",
    "room_id", "room__name", "at_site", "site_name", "kind", "state", "starts_at", "minutes",
    "preparation_minutes", "buffer_minutes", "late_minutes", "cancel_reason", "has_alert",
    "asked",
)  # fmt: skip
_NAMES = [each.name for each in fields(Visit) if each.init]


def visits_between(first: date, last: date, who: User | Room | None = None) -> list[Visit]:
    """
    All that start from `first` to `last`, cancelled ones too, in their order: one query.

    Args:
        who: only those with this person or in this room.
    """
    alerts = Alert.objects.current().filter(patient=OuterRef("patient"), level__in=LOUD)
    rows = (
        _starting(first, last, who)
        .annotate(
            has_alert=Exists(alerts),
            at_site=Coalesce("site_id", F("room__site_id")),
            site_name=Coalesce("site__name", F("room__site__name")),
            asked=asked_about(),
        )
        .order_by("starts_at", "pk")
        .values_list(*_COLUMNS)
    )
    zone = timezone.get_current_timezone()
    visits = []
    for row in rows:
        values = dict(zip(_NAMES, row, strict=True))
        values["kind"] = AppointmentKind(values["kind"])
        values["state"] = AppointmentState(values["state"])
        values["asked"] = values["asked"] and AnswerKind(values["asked"]).label
        values["starts_at"] = values["starts_at"].astimezone(zone)
        visits.append(Visit(**values))
    return visits


def mark_of(first: date, last: date, now: datetime, who: User | Room | None = None) -> str:
    """
    A word that differs as soon as one of `visits_between` came, went or changed: one query.

    While `now`, by the clinic's clock, is one of the days it differs every five minutes: free time
    goes by itself.

    It is made of every visit's last change, and of what patients ask for by an answer. The number
    of visits and the latest change alone would miss an act that began before the last one seen and
    was stored after it.
    """
    visits = _starting(first, last, who).annotate(asked=asked_about()).order_by("pk")
    changes = visits.values_list("pk", "changed_at", "asked")
    text = " ".join(f"{pk}@{changed_at.timestamp()}{asked}" for pk, changed_at, asked in changes)
    if first <= now.date() <= last:
        text += f" {row_of(now.time())}"
    return sha256(text.encode()).hexdigest()[:16]


def has_loud_alert(patient_id: int) -> bool:
    """Whether the patient has an alert that must not be missed."""
    return Alert.objects.current().filter(patient=patient_id, level__in=LOUD).exists()


def shown(visits: Iterable[Visit]) -> list[Visit]:
    """Those that have a place in the grid; a cancelled one has given it up."""
    return [visit for visit in visits if visit.state != AppointmentState.CANCELLED]


def _starting(first: date, last: date, who: User | Room | None) -> QuerySet[Appointment]:
    following = start_of(last + timedelta(days=1))
    visits = Appointment.objects.filter(starts_at__gte=start_of(first), starts_at__lt=following)
    if who is None:
        return visits
    return visits.filter(room=who) if isinstance(who, Room) else visits.filter(practitioner=who)

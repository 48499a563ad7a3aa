"""What each role has to do now."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.utils import timezone

from clinic.counts.models import StockCount
from clinic.fridges.queries import Standing as FridgeStanding
from clinic.fridges.queries import fridges_now
from clinic.policy.models import ClinicPolicy
from clinic.products.models import Product
from clinic.reorder.queries import due_rows
from clinic.staff.models import User
from clinic.stock.models import Lot
from clinic.stock.queries import (
    Delivery,
    LotRow,
    expiry_days,
    pressing_lots,
    recent_deliveries,
    stock_overview,
)
from planning.follow_up import Standing
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment, start_of
from records.appointments.queries.arrivals import arrivals
from records.follow_up.queries.work_list import FollowUp, Row, follow_up
from records.patients.models import Alert
from records.recalls.models import RecallCase
from records.recalls.queries.cases import open_recalls
from records.recalls.queries.progress import Progress
from records.reminders.models import Answer
from records.sessions.models import TreatmentSession
from records.sessions.queries.lists import to_sign, unsigned_sessions

SHOWN_ROWS = 5
SHOWN_NEXT = 4
# The diary shows a whole day better than a table of two hundred rows.
SHOWN_LATER = 10
# So long somebody may still be at the door. Common practice, no source.
LATE_AFTER = timedelta(minutes=5)
SHOWN_SESSIONS = 20
SHOWN_LOTS = 5


@dataclass(frozen=True, slots=True)
class FollowUpNow:
    """The follow-up list: how many stand how, and its first rows."""

    counts: dict[Standing, int]
    rows: list[Row]

    @property
    def badges(self) -> list[tuple[str, str]]:
        """(state, words) of the standings that someone should act on."""
        return [
            (state, f"{self.counts[standing]} {words}")
            for standing, state, words in (
                (Standing.FIRST, "urgent", "to come first"),
                (Standing.OVERDUE, "overdue", "overdue"),
                (Standing.DUE, "due", "due"),
            )
            if self.counts[standing]
        ]


@dataclass(slots=True)
class Parts:
    """
    A day's appointments by what to do about them, each part in the order of the day.

    Attributes:
        here: in the house, those in a room before those who wait.
        late: should be here, and are not.
        soon, later: still expected, the next `SHOWN_NEXT` and the rest.
        over: nothing is left to do.
    """

    here: list[Appointment] = field(default_factory=list)
    late: list[Appointment] = field(default_factory=list)
    soon: list[Appointment] = field(default_factory=list)
    later: list[Appointment] = field(default_factory=list)
    over: list[Appointment] = field(default_factory=list)

    @property
    def first(self) -> Appointment | None:
        """Whom to turn to now."""
        return next(iter(self.here + self.late + self.soon), None)

    @property
    def later_shown(self) -> list[Appointment]:
        return self.later[:SHOWN_LATER]

    @property
    def later_left(self) -> int:
        """How many come later still."""
        return len(self.later) - len(self.later_shown)

    @property
    def expected(self) -> int:
        return len(self.soon) + len(self.later)

    def __bool__(self) -> bool:
        return bool(self.first or self.over)


@dataclass(frozen=True, slots=True)
class DeskDay:
    """
    `unfinished`: visits of earlier days of which nobody said what became, and the first of them;
    `asked`: answers in which patients ask for something, the nearest visit first; `to_settle`:
    messages that came back.
    """

    parts: Parts
    follow_up: FollowUpNow
    unfinished: int
    unfinished_since: date | None
    asked: list[Answer]
    to_settle: int


@dataclass(frozen=True, slots=True)
class InjectorDay:
    """
    `arrived_at` says since when whoever is next is in the house, if so; `waiting` are those who
    are here besides, and since when. `unsigned` holds at most SHOWN_SESSIONS sessions, the oldest
    first; `alerts` are the loud ones of whoever is next; `following` is the next visit of another
    day, looked for on an empty one.
    """

    appointments: list[Appointment]
    parts: Parts
    arrived_at: datetime | None
    waiting: list[tuple[Appointment, datetime | None]]
    alerts: list[Alert]
    following: Appointment | None
    unsigned: list[TreatmentSession]
    follow_up: FollowUpNow
    fridges: list[FridgeStanding]
    counts: list[StockCount]


@dataclass(frozen=True, slots=True)
class OwnerDay:
    """
    Counts, those of lots and of the follow-up their pages' own, and the first rows of what stands
    behind them.

    `recalls` are the open ones with how far they have got, drills left out; `unsigned` holds at
    most SHOWN_SESSIONS sessions of everybody, the oldest first; `expiries` and `deliveries` at most
    SHOWN_LOTS lots. `fridges` are those in use, `counts` those under way.
    """

    expired_lots: int
    expiring_lots: int
    quarantined_lots: int
    unsigned_since_yesterday: int
    follow_up: dict[Standing, int]
    recalls: list[tuple[RecallCase, Progress]]
    unsigned: list[TreatmentSession]
    expiries: list[LotRow]
    deliveries: list[Delivery]
    urgent_lots: int
    products_to_order: int
    fridges: list[FridgeStanding]
    counts: list[StockCount]


def desk_day(now: datetime, followed: FollowUp) -> DeskDay:
    """Who is here, late and expected; whom to turn to; what was left open."""
    today = timezone.localdate(now)
    left_open = Appointment.objects.filter(
        starts_at__lt=start_of(today),
        state__in=[state for state in AppointmentState if state.is_to_come],
    )
    first = left_open.order_by("starts_at").values_list("starts_at", flat=True).first()
    back = followed.came_back
    return DeskDay(
        parts=desk_parts(now),
        follow_up=now_of(followed),
        unfinished=left_open.count() if first else 0,
        unfinished_since=timezone.localdate(first) if first else None,
        asked=[row.answer for row in back if row.answer],
        to_settle=sum(row.message is not None for row in back),
    )


def injector_day(injector: User, now: datetime, policy: ClinicPolicy) -> InjectorDay:
    """One injector's own list, unsigned sessions and follow-up, and what the fridges ask for."""
    today = timezone.localdate(now)
    own = Appointment.objects.filter(practitioner=injector)
    own = own.select_related("patient", "room", "session")  # whose they are is known
    appointments = [row for row in own.on(today) if row.state != AppointmentState.OFFERED]
    parts = parts_of(appointments, now)
    to_come = own.agreed().filter(starts_at__gte=start_of(today + timedelta(days=1)))
    current = parts.first.patient.alerts.current() if parts.first else []
    came = arrivals(parts.here)
    return InjectorDay(
        appointments=appointments,
        parts=parts,
        arrived_at=came.get(parts.first.pk) if parts.first else None,
        waiting=[(one, came.get(one.pk)) for one in parts.here[1:]],
        alerts=[alert for alert in current if alert.is_loud],
        following=None if appointments else to_come.order_by("starts_at", "id").first(),
        unsigned=list(to_sign(injector)[:SHOWN_SESSIONS]),
        follow_up=now_of(follow_up(policy, clinical=True, now=now, injector_id=injector.pk)),
        fridges=fridges_now(policy, now),
        counts=counts_under_way(),
    )


def desk_parts(now: datetime) -> Parts:
    """Everybody's day by what to do; people are joined only to the visits that are shown."""
    parts = parts_of(Appointment.objects.on(timezone.localdate(now)), now)
    shown = [*parts.here, *parts.late, *parts.soon, *parts.later_shown]
    joined = Appointment.objects.with_people().in_bulk([one.pk for one in shown])
    for part in (parts.here, parts.late, parts.soon, parts.later):
        part[:] = [joined.get(one.pk, one) for one in part]
    return parts


def parts_of(appointments: Iterable[Appointment], now: datetime) -> Parts:
    """
    Sorts a day's appointments, given in its order. A time that is only offered to somebody on the
    waiting list is nobody's visit yet.
    """
    parts = Parts()
    waiting: list[Appointment] = []
    for one in appointments:
        state = AppointmentState(one.state)
        if state is AppointmentState.IN_ROOM:
            parts.here.append(one)
        elif state is AppointmentState.ARRIVED:
            waiting.append(one)
        elif state is not AppointmentState.BOOKED:
            if state is not AppointmentState.OFFERED:
                parts.over.append(one)
        elif now >= one.starts_at + timedelta(minutes=one.late_minutes) + LATE_AFTER:
            parts.late.append(one)
        else:
            (parts.soon if len(parts.soon) < SHOWN_NEXT else parts.later).append(one)
    parts.here += waiting
    return parts


def counts_under_way() -> list[StockCount]:
    return list(StockCount.objects.under_way().select_related("place__site").order_by("id"))


def owner_day(now: datetime, policy: ClinicPolicy, followed: FollowUp) -> OwnerDay:
    """What the owner should look into."""
    today = timezone.localdate(now)
    days = expiry_days(policy, today)
    stock = stock_overview(days)
    unsigned = TreatmentSession.objects.unsigned()
    return OwnerDay(
        expired_lots=stock["expired"],
        expiring_lots=stock["soon"],
        quarantined_lots=stock["quarantined"],
        unsigned_since_yesterday=unsigned.filter(started_at__lt=start_of(today)).count(),
        follow_up=followed.counts,
        recalls=open_recalls(),
        unsigned=list(unsigned_sessions()[:SHOWN_SESSIONS]),
        expiries=pressing_lots(SHOWN_LOTS, days),
        deliveries=recent_deliveries(SHOWN_LOTS),
        urgent_lots=stock["urgent"],
        products_to_order=len(due_rows(policy, now)),
        fridges=fridges_now(policy, now),
        counts=counts_under_way(),
    )


def followed_by_all(now: datetime, policy: ClinicPolicy) -> FollowUp:
    """Everybody's follow-up; its rows are without clinical words, as the front desk reads them."""
    return follow_up(policy, clinical=False, now=now)


def now_of(followed: FollowUp) -> FollowUpNow:
    """Counts, and the first rows; the front desk's are without clinical words."""
    return FollowUpNow(counts=followed.counts, rows=followed[:SHOWN_ROWS])


def first_steps() -> dict[str, bool]:
    """What a new clinic does before its first session, by the page that does it: done or not."""
    return {
        "policy-edit": ClinicPolicy.objects.exists(),
        "staff-create": User.objects.filter(is_injector=True, is_active=True).exists(),
        "product-create": Product.objects.exists(),
        "receiving": Lot.objects.exists(),
    }

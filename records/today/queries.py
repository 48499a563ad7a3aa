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
from records.follow_up.queries.work_list import Row, follow_up
from records.patients.models import Alert
from records.recalls.models import RecallCase
from records.recalls.queries.cases import open_recalls
from records.recalls.queries.progress import Progress
from records.reminders.models import Answer
from records.reminders.queries import messages_to_settle, open_answers
from records.reviews.enums import Standing as ReviewStanding
from records.reviews.queries.work_list import WorkList
from records.sessions.models import TreatmentSession
from records.sessions.queries.lists import unsigned_sessions

SHOWN_ROWS = 5
SHOWN_NEXT = 4
# The diary shows a whole day better than a table of two hundred rows.
SHOWN_LATER = 20
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
    `unsigned` holds at most SHOWN_SESSIONS sessions, the oldest first; `alerts` are the loud ones
    of whoever is next; `following` is the next visit of another day, looked for on an empty one.
    """

    appointments: list[Appointment]
    parts: Parts
    alerts: list[Alert]
    following: Appointment | None
    unsigned: list[TreatmentSession]
    follow_up: FollowUpNow
    fridges: list[FridgeStanding]
    counts: list[StockCount]


@dataclass(frozen=True, slots=True)
class OwnerDay:
    """
    Counts, those of lots the stock page's own, and the first rows of what stands behind them.

    `recalls` are the open ones with how far they have got, drills left out; `unsigned` holds at
    most SHOWN_SESSIONS sessions of everybody, the oldest first; `expiries` and `deliveries` at most
    SHOWN_LOTS lots. `fridges` are those in use, `counts` those under way.
    """

    expired_lots: int
    expiring_lots: int
    quarantined_lots: int
    unsigned_since_yesterday: int
    overdue_reviews: int
    recalls: list[tuple[RecallCase, Progress]]
    unsigned: list[TreatmentSession]
    expiries: list[LotRow]
    deliveries: list[Delivery]
    urgent_lots: int
    products_to_order: int
    fridges: list[FridgeStanding]
    counts: list[StockCount]


def desk_day(now: datetime, policy: ClinicPolicy) -> DeskDay:
    """Who is here, late and expected; whom to turn to; what was left open."""
    today = timezone.localdate(now)
    left_open = Appointment.objects.filter(
        starts_at__lt=start_of(today),
        state__in=[state for state in AppointmentState if state.is_to_come],
    )
    first = left_open.order_by("starts_at").values_list("starts_at", flat=True).first()
    return DeskDay(
        parts=parts_of(Appointment.objects.on(today).with_people(), now),
        follow_up=follow_up_now(policy),
        unfinished=left_open.count() if first else 0,
        unfinished_since=timezone.localdate(first) if first else None,
        asked=list(open_answers(now).order_by("starts_at", "pk")),
        to_settle=messages_to_settle(now).count(),
    )


def injector_day(injector: User, now: datetime, policy: ClinicPolicy) -> InjectorDay:
    """One injector's own list, unsigned sessions and follow-up, and what the fridges ask for."""
    today = timezone.localdate(now)
    own = Appointment.objects.filter(practitioner=injector).with_people()
    appointments = [row for row in own.on(today) if row.state != AppointmentState.OFFERED]
    parts = parts_of(appointments, now)
    to_come = own.agreed().filter(starts_at__gte=start_of(today + timedelta(days=1)))
    current = parts.first.patient.alerts.current() if parts.first else []
    return InjectorDay(
        appointments=appointments,
        parts=parts,
        alerts=[alert for alert in current if alert.is_loud],
        following=None if appointments else to_come.order_by("starts_at", "id").first(),
        unsigned=list(unsigned_sessions().filter(injector=injector)[:SHOWN_SESSIONS]),
        follow_up=follow_up_now(policy, clinical=True, injector_id=injector.pk),
        fridges=fridges_now(policy, now),
        counts=counts_under_way(),
    )


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


def owner_day(today: date, policy: ClinicPolicy) -> OwnerDay:
    """What the owner should look into."""
    days, now = expiry_days(policy, today), timezone.now()
    stock = stock_overview(days)
    unsigned = TreatmentSession.objects.unsigned()
    overdue = WorkList(today, today, standing=ReviewStanding.OVERDUE)
    return OwnerDay(
        expired_lots=stock["expired"],
        expiring_lots=stock["soon"],
        quarantined_lots=stock["quarantined"],
        unsigned_since_yesterday=unsigned.filter(started_at__lt=start_of(today)).count(),
        overdue_reviews=overdue.count(),
        recalls=open_recalls(),
        unsigned=list(unsigned_sessions()[:SHOWN_SESSIONS]),
        expiries=pressing_lots(SHOWN_LOTS, days),
        deliveries=recent_deliveries(SHOWN_LOTS),
        urgent_lots=stock["urgent"],
        products_to_order=len(due_rows(policy, now)),
        fridges=fridges_now(policy, now),
        counts=counts_under_way(),
    )


def follow_up_now(
    policy: ClinicPolicy, *, clinical: bool = False, injector_id: int | None = None
) -> FollowUpNow:
    """Counts, and the first rows; the front desk's are without clinical words."""
    followed = follow_up(policy, clinical=clinical, injector_id=injector_id)
    return FollowUpNow(counts=followed.counts, rows=followed[:SHOWN_ROWS])


def first_steps() -> dict[str, bool]:
    """What a new clinic does before its first session, by the page that does it: done or not."""
    return {
        "policy-edit": ClinicPolicy.objects.exists(),
        "staff-create": User.objects.filter(is_injector=True, is_active=True).exists(),
        "product-create": Product.objects.exists(),
        "receiving": Lot.objects.exists(),
    }

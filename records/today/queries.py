"""What each role has to do now."""

from dataclasses import dataclass
from datetime import date

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
from records.appointments.models import Appointment, start_of
from records.follow_up.queries.work_list import Row, follow_up
from records.recalls.models import RecallCase
from records.recalls.queries.cases import open_recalls
from records.recalls.queries.progress import Progress
from records.reviews.enums import Standing as ReviewStanding
from records.reviews.queries.work_list import WorkList
from records.sessions.models import TreatmentSession
from records.sessions.queries.lists import unsigned_sessions

SHOWN_ROWS = 5
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


@dataclass(frozen=True, slots=True)
class DeskDay:
    appointments: list[Appointment]
    follow_up: FollowUpNow


@dataclass(frozen=True, slots=True)
class InjectorDay:
    """`unsigned` holds at most SHOWN_SESSIONS sessions, the oldest first."""

    appointments: list[Appointment]
    unsigned: list[TreatmentSession]
    follow_up: FollowUpNow


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


def desk_day(today: date, policy: ClinicPolicy) -> DeskDay:
    """All appointments of today, and whom to turn to."""
    return DeskDay(
        appointments=list(Appointment.objects.on(today).with_people()),
        follow_up=follow_up_now(policy),
    )


def injector_day(injector: User, today: date, policy: ClinicPolicy) -> InjectorDay:
    """One injector's own list, unsigned sessions and follow-up."""
    own = Appointment.objects.on(today).filter(practitioner=injector)
    return InjectorDay(
        appointments=list(own.with_people()),
        unsigned=list(unsigned_sessions().filter(injector=injector)[:SHOWN_SESSIONS]),
        follow_up=follow_up_now(policy, clinical=True, injector_id=injector.pk),
    )


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
        counts=list(StockCount.objects.under_way().select_related("place").order_by("id")),
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

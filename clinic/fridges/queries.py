"""The temperature log read: how each fridge stands, its excursions, and what lay in it then."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby

from django.db.models import Case, Exists, F, OuterRef, Q, QuerySet, Subquery, Sum, Value, When
from django.db.models.functions import Coalesce
from django.utils import timezone

from clinic.fridges.errors import FridgeError
from clinic.fridges.models import ExcursionReview, FridgeReading
from clinic.places.models import Place
from clinic.policy.models import ClinicPolicy
from clinic.stock.enums import MovementKind
from clinic.stock.models import Lot, StockMovement, UnitOfStock
from planning.temperature_chart import Chart, draw
from planning.temperatures import Excursion, excursions, overdue

_GONE = [MovementKind.RETURNED, MovementKind.WRITTEN_OFF, MovementKind.MISSING]
_CHANGES_STATE = [
    MovementKind.RECEIVED, MovementKind.OPENED, MovementKind.PUT_BACK, MovementKind.FOUND, *_GONE,
]  # fmt: skip
CHART_DAYS = 30


@dataclass(frozen=True)
class Standing:
    """One fridge now; `waits` while an excursion waits for the owner's decision."""

    place: Place
    last: FridgeReading | None
    is_overdue: bool
    waits: bool

    @property
    def is_calm(self) -> bool:
        return not self.is_overdue and not self.waits


@dataclass(frozen=True)
class ExcursionRow:
    """An excursion with its first and last reading; `reviews`, the newest first."""

    excursion: Excursion
    first: FridgeReading
    last: FridgeReading
    reviews: list[ExcursionReview]

    @property
    def is_decided(self) -> bool:
        """Whether a decision reaches to its last reading."""
        return any(review.last.read_at >= self.last.read_at for review in self.reviews)

    @property
    def since(self) -> datetime:
        """The earliest it may have begun."""
        return self.excursion.after or self.excursion.first

    @property
    def until(self) -> datetime | None:
        """The latest it may have lasted; None while nobody has read a good temperature."""
        return self.excursion.before


@dataclass(frozen=True)
class LotThen:
    lot: Lot
    units: int


def fridges_now(policy: ClinicPolicy, now: datetime) -> list[Standing]:
    """The fridges in use, in two queries however many there are and however long their past."""
    newest = FridgeReading.objects.filter(place=OuterRef("pk")).values("pk")[:1]
    waiting = FridgeReading.objects.not_decided().filter(place=OuterRef("pk"))
    fridges = list(
        Place.objects.in_use().fridges().annotate(last=Subquery(newest), waits=Exists(waiting))
    )
    last = FridgeReading.objects.select_related("by").in_bulk([fridge.last for fridge in fridges])
    return [_standing(fridge, last.get(fridge.last), policy, now) for fridge in fridges]


def _standing(fridge, last: FridgeReading | None, policy: ClinicPolicy, now: datetime) -> Standing:
    is_overdue = overdue(last.read_at if last else None, now, policy.reading_hours)
    return Standing(fridge, last, is_overdue, fridge.waits)


def excursions_of(place: Place) -> list[ExcursionRow]:
    """All of a fridge's excursions, the newest first, in two queries."""
    readings = list(place.readings.select_related("by").order_by("read_at"))
    by_time = {reading.read_at: reading for reading in readings}
    found = [
        excursion
        for (lowest, highest), run in groupby(readings, key=lambda one: (one.lowest, one.highest))
        for excursion in excursions([one.as_read for one in run], lowest, highest)
    ]
    reviews = list(
        ExcursionReview.objects.filter(first__place=place).select_related("first", "last", "by")
    )
    return [
        ExcursionRow(
            excursion, by_time[excursion.first], by_time[excursion.last],
            [review for review in reviews if _reaches(review, excursion)],
        )
        for excursion in reversed(found)
    ]  # fmt: skip


def _reaches(review: ExcursionReview, excursion: Excursion) -> bool:
    return review.first.read_at <= excursion.last and review.last.read_at >= excursion.first


def lots_lying_then(place: Place, *, since: datetime, until: datetime) -> list[LotThen]:
    """
    What lay in `place` at some time from `since` to `until` and was not used up before, by the
    ledger; by product, first expired first.
    """
    counts: dict[int, int] = {}
    lots: dict[int, Lot] = {}
    for unit in units_lying_then(place, since=since, until=until).select_related("lot__product"):
        counts[unit.lot_id] = counts.get(unit.lot_id, 0) + 1
        lots[unit.lot_id] = unit.lot
    in_order = sorted(lots.values(), key=lambda lot: (lot.product.name, lot.expires_on, lot.pk))
    return [LotThen(lot, counts[lot.pk]) for lot in in_order]


def units_lying_then(place: Place, *, since: datetime, until: datetime) -> QuerySet[UnitOfStock]:
    """As `lots_lying_then`, unit by unit; in one query."""
    rows = StockMovement.objects.filter(unit=OuterRef("pk"))
    put = rows.filter(place__isnull=False).order_by("-id")
    came = put.filter(place=place, at__gt=since, at__lte=until)
    state = rows.filter(kind__in=_CHANGES_STATE, at__lte=since).order_by("-id").values("kind")
    lay = UnitOfStock.objects.annotate(
        lay_in=Subquery(put.filter(at__lte=since).values("place")[:1]),
        last_act=Subquery(state[:1]),
        used=Coalesce(Subquery(_used(rows.filter(at__lte=since))), Value(0)),
    ).filter(Q(lay_in=place.pk, content__gt=F("used")) & ~Q(last_act__in=_GONE) | Exists(came))
    ever = StockMovement.objects.filter(place=place, at__lte=until).values("unit")
    return lay.filter(pk__in=ever)


def _used(rows: QuerySet[StockMovement]) -> QuerySet:
    """Drawn and wasted by these rows, less what was taken back."""
    amount = Case(
        When(kind__in=[MovementKind.DRAWN, MovementKind.WASTED], then=F("amount")),
        When(kind=MovementKind.UNDRAWN, then=-F("amount")),
        default=Value(0),
    )
    return rows.order_by().values("unit").annotate(used=Sum(amount)).values("used")


def chart_of(place: Place, readings: Iterable[FridgeReading], now: datetime) -> Chart:
    """The last days' readings against the fridge's range as it is now."""
    if place.kept_between is None:
        raise FridgeError(f"{place} has no range to hold readings against.")
    lowest, highest = place.kept_between
    end = timezone.localtime(now)
    return draw(
        sorted((one.as_read for one in readings), key=lambda one: one.at),
        lowest=lowest, highest=highest, start=end - timedelta(days=CHART_DAYS), end=end,
    )  # fmt: skip

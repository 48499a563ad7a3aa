"""The kit as it stands, site by site."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Sum

from clinic.emergency_kit.models import EmergencyItem
from clinic.policy.models import ClinicPolicy
from clinic.sites.models import Site
from clinic.stock.models import UnitOfStock
from planning.emergency_kit import Batch, KitCover, KitState, kept_by_hand, kit_cover


@dataclass(frozen=True)
class Shelf:
    """
    Usable units of one product and expiry at one site.

    Attributes:
        amount: what they hold, in the product's base unit.
        site: None where nobody said where they lie.
    """

    site: int | None
    product: int
    kind: str
    expires_on: date
    amount: int
    pieces: int


@dataclass(frozen=True)
class KitLine:
    """
    One item at one site.

    Attributes:
        site: None in a clinic that has no site.
        cover: None for what is in no stock book.
    """

    item: EmergencyItem
    site: Site | None
    state: KitState
    cover: KitCover | None = None

    @property
    def ends_on(self) -> date | None:
        return self.cover.covered_until if self.cover else self.item.expires_on

    @property
    def needed_text(self) -> str:
        return self.item.amount_text(self.item.minimum) if self.item.minimum else ""

    @property
    def have_text(self) -> str:
        return self.item.amount_text(self.cover.on_hand) if self.cover else ""

    @property
    def words(self) -> str:
        """ "Hyaluronidase: 750 units in date, 750 units short of 1,500 units." """
        name, ends = self.item.name, self.ends_on
        if self.cover and self.cover.short_by:
            short = self.item.amount_text(self.cover.short_by)
            return f"{name}: {self.have_text} in date, {short} short of {self.needed_text}."
        until = f"{ends.day} {ends:%b %Y}" if ends else ""
        if self.cover:
            return f"{name}: {self.have_text} in date, enough until {until}."
        if self.state is KitState.MISSING:
            return f"{name}: expired on {until}."
        return f"{name}: in date until {until}." if ends else f"{name}: look at it."


def kit_lines(policy: ClinicPolicy, today: date) -> list[KitLine]:
    """Every item in use at every site that keeps it, by site and name: three queries."""
    items = list(EmergencyItem.objects.in_use().select_related("product"))
    sites = list(Site.objects.in_use())
    shelves = list(_shelves(today)) if items else []
    days = policy.expiry_warning_days
    return [
        _line(item, site, _lying_at(shelves, site, sites), today, days)
        for site in sites or [None]
        for item in items
        if site is None or item.site_id in (None, site.pk)
    ]


def kit_problems(policy: ClinicPolicy, today: date) -> list[KitLine]:
    """What is missing or expires soon, the missing first."""
    lines = [line for line in kit_lines(policy, today) if line.state.needs_somebody]
    return sorted(lines, key=lambda line: line.state is not KitState.MISSING)


def lines_by_site(lines: Iterable[KitLine]) -> list[tuple[Site | None, list[KitLine]]]:
    found: dict[Site | None, list[KitLine]] = defaultdict(list)
    for line in lines:
        found[line.site].append(line)
    return list(found.items())


def _lying_at(shelves: list[Shelf], site: Site | None, sites: list[Site]) -> list[Shelf]:
    """What lies nowhere in particular is at the only site; of several it can be at any."""
    if len(sites) < 2:
        return shelves
    return [shelf for shelf in shelves if site is not None and shelf.site == site.pk]


def _line(
    item: EmergencyItem, site: Site | None, shelves: list[Shelf], today: date, days: int
) -> KitLine:
    if item.minimum is None:
        state = kept_by_hand(expires_on=item.expires_on, today=today, warning_days=days)
        return KitLine(item, site, state)
    batches = [
        Batch(shelf.expires_on, shelf.amount if item.is_in_units else shelf.pieces)
        for shelf in shelves
        if (shelf.product == item.product_id if item.product_id else shelf.kind == item.kind)
    ]
    cover = kit_cover(minimum=item.minimum, batches=batches, today=today, warning_days=days)
    return KitLine(item, site, cover.state, cover)


def _shelves(today: date) -> Iterable[Shelf]:
    """Unopened, in date and in no quarantine."""
    usable = UnitOfStock.objects.in_stock().filter(
        quarantined_at__isnull=True,
        lot__quarantined_at__isnull=True,
        lot__expires_on__gte=today,
    )
    columns = ("place__site", "lot__product", "lot__product__kind", "lot__expires_on")
    rows = usable.order_by().values_list(*columns)
    for row in rows.annotate(Sum("content"), Count("id")):
        yield Shelf(*row)

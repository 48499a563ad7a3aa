"""
Waste month by month, by product or by injector and product, from the rows of the ledger.

Waste counts by the day it was recorded and for whoever recorded it, opened content by the day of
the session and for its injector. Amounts are added up within one product alone.
"""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass

from django.db.models import Count, Q, Sum

from clinic.products.models import Product
from clinic.staff.models import User
from clinic.stock.enums import MovementKind
from planning.amounts import unit_of
from planning.names import fold
from planning.percentages import per_cent
from planning.plot_axis import Axis, axis_to
from planning.vocabulary import Measure
from planning.waste import WasteFigures
from planning.waste_plot import MonthWaste, WastePlot, waste_plot
from records.results.enums import WasteBy
from records.sessions.enums import LEFT_OVER
from records.usage.queries.period import Period, grouped

_PRODUCT = "unit__lot__product_id"


@dataclass(frozen=True)
class WasteSeries:
    """
    The months of one product, or of one product in the hands of one person.

    Attributes:
        person: empty where all of the clinic is meant.
        months: every month of the period, those without waste too.
        axis: shared by all series that may be compared: those of volumes, or of one product's dose.
    """

    person: str
    product: Product
    months: tuple[MonthWaste, ...]
    axis: Axis

    @property
    def measure(self) -> Measure:
        return Measure(self.product.measure)

    @property
    def unit(self) -> str:
        return unit_of(self.measure)

    @property
    def total(self) -> WasteFigures:
        return sum((each.figures for each in self.months), WasteFigures())

    @property
    def wasted_months(self) -> list[tuple[MonthWaste, str]]:
        """Those with waste, the latest first, each with its share of what was opened."""
        found = [each for each in self.months if each.figures.wasted]
        return [(each, share_text(each.figures)) for each in reversed(found)]

    @property
    def share_text(self) -> str:
        return share_text(self.total)

    @property
    def plot(self) -> WastePlot:
        return waste_plot(self.months, self.axis, self.measure)


@dataclass(frozen=True)
class ReasonRow:
    """Why it was thrown away, how often, and how much of one product."""

    reason: str
    product: Product
    times: int
    amount: int


def share_text(figures: WasteFigures) -> str:
    """ "4.2 %" of what was opened; empty where nothing was."""
    return "" if figures.share is None else per_cent(figures.share)


def waste_series(period: Period, by: WasteBy) -> list[WasteSeries]:
    """Every product (of every injector) of which something was wasted, in four queries."""
    figures = _figures(period, by)
    people, products = _people(figures), _products(product for _, product, _ in figures)
    keys = {key[:2] for key, each in figures.items() if each.wasted}
    starts = list(period.months())
    named = {
        (person, product): tuple(
            MonthWaste(day, figures.get((person, product, number), WasteFigures()))
            for number, day in enumerate(starts)
        )
        for person, product in keys
    }
    axes = _axes((products[product], months) for (_, product), months in named.items())
    series = [
        WasteSeries(people.get(person, ""), products[product], months,
                    axes[_comparable(products[product])])
        for (person, product), months in named.items()
    ]  # fmt: skip
    return sorted(
        series, key=lambda one: (fold(one.person), fold(one.product.name), one.product.pk)
    )


def _figures(period: Period, by: WasteBy) -> dict[tuple[int, int, int], WasteFigures]:
    """By person (0 for the whole clinic), product and number of the month."""
    is_by_person = by is WasteBy.INJECTOR
    wasted_by, opened_by = (["by_id"], ["session__injector_id"]) if is_by_person else ([], [])
    figures: dict[tuple[int, int, int], WasteFigures] = defaultdict(WasteFigures)
    for *person, product, month, amount, left_over in grouped(
        period.wastes,
        [*wasted_by, _PRODUCT, period.month_of("at")],
        Sum("amount"),
        Sum("amount", filter=Q(reason=LEFT_OVER), default=0),
    ):
        key = (*(person or [0]), product, month)
        figures[key] += WasteFigures(left_over=left_over, otherwise=amount - left_over)
    for *person, product, month, units, content in grouped(
        period.openings,
        [*opened_by, _PRODUCT, period.month_of("session__started_at")],
        Count("pk"),
        Sum("unit__content"),
    ):
        key = (*(person or [0]), product, month)
        figures[key] += WasteFigures(opened=units, content=content)
    return dict(figures)


def waste_reasons(period: Period) -> list[ReasonRow]:
    """Why something was thrown away from opened units, the most frequent reason first."""
    return _reasons(period, MovementKind.WASTED)


def written_off(period: Period) -> list[ReasonRow]:
    """What left the stock unopened: expired, broken or destroyed; whole units."""
    return _reasons(period, MovementKind.WRITTEN_OFF)


def _reasons(period: Period, kind: MovementKind) -> list[ReasonRow]:
    found = list(grouped(period.movements(kind), ["reason", _PRODUCT], Count("pk"), Sum("amount")))
    products = _products(product for _, product, *_ in found)
    rows = [
        ReasonRow(reason, products[product], times, amount)
        for reason, product, times, amount in found
    ]
    return sorted(rows, key=lambda row: (-row.times, row.reason, row.product.name, row.product.pk))


def _comparable(product: Product) -> Hashable:
    """Volumes are compared with one another, units of activity within one product."""
    measure = Measure(product.measure)
    return measure if measure is Measure.VOLUME else product.pk


def _axes(series: Iterable[tuple[Product, Sequence[MonthWaste]]]) -> dict[Hashable, Axis]:
    highest: dict[Hashable, int] = defaultdict(int)
    for product, months in series:
        key = _comparable(product)
        highest[key] = max(highest[key], *(each.figures.wasted for each in months))
    return {key: axis_to(most) for key, most in highest.items()}


def _people(figures: Iterable[tuple[int, int, int]]) -> dict[int, str]:
    ids = {person for person, *_ in figures if person}
    return dict(User.objects.filter(pk__in=ids).values_list("pk", "full_name")) if ids else {}


def _products(ids: Iterable[int]) -> dict[int, Product]:
    return Product.objects.in_bulk(set(ids))

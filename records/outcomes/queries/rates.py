"""
Outcome by region, product or injector: the reviews of some days, as one rater judged them.

A patient counts once in a line (`planning.outcomes.once_a_patient`). A region counts for every
product that was given there in the session; the injector is the session's.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from clinic.products.models import Product
from planning.atlas.regions import Region
from planning.interval_plot import IntervalMark, interval_mark
from planning.names import fold
from planning.outcomes import Improvement, Outcome, Rater, Rating, outcome_of
from records.figures.wording import NOTHING, TOO_FEW, share_details, share_text
from records.outcomes.enums import OutcomeBy
from records.outcomes.models import RegionRating, ReviewRecord
from records.sessions.models import InjectionEntry
from records.usage.queries.period import Period

_REVIEW = "record__review"
_COLUMNS = (
    "region", "grade", "record_id", "record__seen_on", "record__satisfaction",
    f"{_REVIEW}__patient_id", f"{_REVIEW}__session_id", f"{_REVIEW}__session__injector_id",
    f"{_REVIEW}__session__injector__full_name",
)  # fmt: skip


class _Rated(NamedTuple):
    """In the order of `_COLUMNS`."""

    region: str
    grade: int
    record: int
    seen_on: Any
    satisfaction: int | None
    patient: int
    session: int
    injector: int
    injector_name: str

    @property
    def rating(self) -> Rating:
        review = (self.seen_on.toordinal(), self.record)
        return Rating(self.patient, review, Improvement.of(self.grade), self.satisfaction)


@dataclass(frozen=True)
class OutcomeRow:
    """One line: a region, product or injector with what its reviews say."""

    label: str
    outcome: Outcome

    @property
    def graded(self) -> list[tuple[Improvement, int]]:
        """How many patients have each grade, the best first."""
        return list(zip(Improvement, self.outcome.counts, strict=True))

    @property
    def share_text(self) -> str:
        return share_text(self.outcome.improved)

    @property
    def details(self) -> tuple[str, ...]:
        return share_details(self.outcome.improved)

    @property
    def mark(self) -> IntervalMark | None:
        """None where too few are counted for an interval."""
        share = self.outcome.improved
        if share.rate is None or share.interval is None:
            return None
        # Floats of an end that is exact may lie a hair beyond the share.
        rate = float(share.rate)
        low, high = min(share.interval.low, rate), max(share.interval.high, rate)
        return interval_mark(rate, low, high)

    @property
    def satisfaction_text(self) -> str:
        """ "8", "fewer than 5", or "–" where nobody answered."""
        if not self.outcome.satisfactions:
            return NOTHING
        spread = self.outcome.satisfaction
        return TOO_FEW if spread is None else str(spread.middle)

    @property
    def satisfaction_details(self) -> tuple[str, ...]:
        """ "middle half 7 to 9" and "31 answers"."""
        spread = self.outcome.satisfaction
        if spread is None:
            return ()
        answers = len(self.outcome.satisfactions)
        return f"middle half {spread.low} to {spread.high}", f"{answers:,} answers"


@dataclass(frozen=True)
class Outcomes:
    """All lines and, over them, everybody rated once."""

    rows: Sequence[OutcomeRow]
    whole: OutcomeRow


def outcomes(period: Period, by: OutcomeBy, rater: Rater) -> Outcomes:
    """Reviews seen on these days; the last record of each holds. At most three queries."""
    rated = _rated(period, rater)
    given = _products_given(rated)
    if period.product_id:
        rated = [row for row in rated if period.product_id in given[row.session, row.region]]
    named = {
        OutcomeBy.REGION: _by_region,
        OutcomeBy.PRODUCT: lambda rows: _by_product(rows, given, period),
        OutcomeBy.INJECTOR: _by_injector,
    }[by](rated)
    rows = [
        OutcomeRow(label, outcome_of(row.rating for row in of_label)) for label, of_label in named
    ]
    return Outcomes(rows, OutcomeRow("All together", outcome_of(row.rating for row in rated)))


def _rated(period: Period, rater: Rater) -> list[_Rated]:
    records = ReviewRecord.objects.that_hold().filter(seen_on__range=(period.first, period.last))
    ratings = RegionRating.objects.filter(record__in=records, rater=rater).order_by("id")
    return [_Rated(*row) for row in ratings.values_list(*_COLUMNS)]


_Given = dict[tuple[int, str], set[int]]


def _products_given(rated: Iterable[_Rated]) -> _Given:
    """By session and region, what was given there."""
    sessions = {row.session for row in rated}
    points = InjectionEntry.objects.standing().filter(session__in=sessions).order_by()
    given: _Given = defaultdict(set)
    for session, region, product in points.values_list(
        "session_id", "region", "unit__lot__product_id"
    ).distinct():
        given[session, region].add(product)
    return given


_Groups = list[tuple[str, list[_Rated]]]


def _by_region(rated: Iterable[_Rated]) -> _Groups:
    groups: dict[str, list[_Rated]] = defaultdict(list)
    for row in rated:
        groups[row.region].append(row)
    return [(region.label, groups[region.value]) for region in Region if region.value in groups]


def _by_product(rated: Iterable[_Rated], given: _Given, period: Period) -> _Groups:
    groups: dict[int, list[_Rated]] = defaultdict(list)
    for row in rated:
        for product in given[row.session, row.region]:
            groups[product].append(row)
    if period.product_id:
        groups = {pk: rows for pk, rows in groups.items() if pk == period.product_id}
    products = Product.objects.filter(pk__in=groups).order_by("name", "id")
    return [(product.name, groups[product.pk]) for product in products]


def _by_injector(rated: Iterable[_Rated]) -> _Groups:
    groups: dict[int, list[_Rated]] = defaultdict(list)
    for row in rated:
        groups[row.injector].append(row)
    by_name = sorted(groups.items(), key=lambda group: (fold(group[1][0].injector_name), group[0]))
    return [(rows[0].injector_name, rows) for _, rows in by_name]

"""
Adverse events per lot: of the patients treated with it in a period, how many had one.

A patient counts once for a lot, however many points or events. An event counts if the lot is the
suspected one and the patient got something of it in the period, whenever the event was noticed.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Count, Exists, OuterRef

from clinic.stock.models import Lot
from planning.funnel import Judgement, Verdict, judge, pooled_rate
from planning.funnel_plot import FunnelPlot, PlotLot, funnel_plot
from planning.intervals import ConfidenceInterval, wilson
from planning.percentages import per_cent
from records.adverse_events.models import AdverseEvent
from records.usage.queries.period import Period


@dataclass(frozen=True)
class LotEvents:
    """A lot's patients, those of them with an event, and what can be said from it."""

    lot: Lot
    events: int
    treated: int
    judgement: Judgement

    @property
    def interval(self) -> ConfidenceInterval | None:
        return wilson(self.events, self.treated)

    @property
    def share(self) -> float:
        return self.events / self.treated

    @property
    def share_text(self) -> str:
        return per_cent(self.share)

    @property
    def interval_text(self) -> str:
        """ "0.3 to 17.2 %"."""
        if self.interval is None:
            return ""
        return f"{self.interval.low * 100:.1f} to {per_cent(self.interval.high)}"

    @property
    def is_outside(self) -> bool:
        return self.judgement.verdict is not Verdict.INSIDE

    @property
    def chance_text(self) -> str:
        """How likely so many are by the rate of all lots, where there are more than expected."""
        if not self.is_outside or not self.judgement.is_above:
            return ""
        return f"so many by chance: {per_cent(self.judgement.chance, digits=2)}"

    @property
    def verdict_text(self) -> str:
        """Where it lies, and on which side."""
        verdict = self.judgement.verdict
        side = "above" if self.judgement.is_above else "below"
        return f"{verdict.label}, {side}" if self.is_outside else verdict.label


@dataclass(frozen=True)
class EventRates:
    """All lots of the period, those outside the funnel first, and the rate of all together."""

    lots: Sequence[LotEvents]
    rate: float

    @property
    def can_be_compared(self) -> bool:
        """One lot, or nothing that happened, gives nothing to compare with."""
        return len(self.lots) > 1 and self.rate > 0

    @property
    def rate_text(self) -> str:
        return per_cent(self.rate)

    @property
    def events(self) -> int:
        return sum(lot.events for lot in self.lots)

    @property
    def treated(self) -> int:
        return sum(lot.treated for lot in self.lots)

    @property
    def plot(self) -> FunnelPlot:
        return funnel_plot(
            [PlotLot(row.lot.number, row.events, row.treated, row.judgement) for row in self.lots],
            self.rate,
        )


def event_rates(period: Period) -> EventRates:
    """Every lot that anybody was treated with in the period, in three queries."""
    counted = (
        period.points.order_by()
        .values_list("unit__lot_id")
        .annotate(Count("session__patient_id", distinct=True))
    )
    treated: dict[int, int] = dict(counted)
    events = _patients_with_event(period)
    rate = pooled_rate((events[pk], number) for pk, number in treated.items()) or 0.0
    rows = [
        _judged(lot, events[lot.pk], treated[lot.pk], rate)
        for lot in Lot.objects.filter(pk__in=treated).select_related("product")
    ]
    return EventRates(sorted(rows, key=_most_striking_first), rate)


def _patients_with_event(period: Period) -> Counter[int]:
    """By the lot's id, how many of its patients had an event of which it is suspected."""
    got_of_it = period.points.filter(
        unit__lot=OuterRef("lot"), session__patient=OuterRef("patient")
    )
    pairs = (
        AdverseEvent.objects.filter(Exists(got_of_it), lot__isnull=False)
        .order_by()
        .values_list("lot_id", "patient_id")
        .distinct()
    )
    return Counter(lot_id for lot_id, _ in pairs)


def _judged(lot: Lot, events: int, treated: int, rate: float) -> LotEvents:
    return LotEvents(lot, events, treated, judge(events, treated, rate))


_LOUDEST_FIRST = [Verdict.BEYOND_998, Verdict.BEYOND_95, Verdict.INSIDE]


def _most_striking_first(row: LotEvents) -> tuple:
    loud = _LOUDEST_FIRST.index(row.judgement.verdict)
    return loud, not row.judgement.is_above, row.judgement.chance, row.lot.number, row.lot.pk

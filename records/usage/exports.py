"""The audit's tables as CSV. Amounts are exact decimal text in the unit named beside them."""

from collections.abc import Iterable, Iterator

from clinic.printing.csv_files import as_text, csv_lines
from planning.amounts import plain_number
from planning.vocabulary import Measure
from records.trace.exports import UNIT_WORD
from records.usage.enums import GroupBy
from records.usage.queries.events import EventRates, LotEvents
from records.usage.queries.use import UseRow

FIGURES = ["opened", "patients", "points", "given", "wasted", "unit"]
EVENT_COLUMNS = [
    "product", "gtin", "lot", "patients", "patients_with_event", "percent", "percent_from",
    "percent_to", "verdict", "chance",
]  # fmt: skip


def use_as_csv(by: GroupBy, rows: Iterable[UseRow]) -> Iterator[str]:
    """The use line by line; the first column is what it is added up by."""
    heads = {
        GroupBy.PRODUCT: ["product"],
        GroupBy.LOT: ["product", "lot"],
        GroupBy.INJECTOR: ["injector", "product"],
        GroupBy.MONTH: ["month", "product"],
    }
    return csv_lines([*heads[by], *FIGURES], (_use_cells(row) for row in rows))


def _use_cells(row: UseRow) -> list[object]:
    measure = Measure(row.product.measure)
    figures = row.figures
    return [
        *(as_text(text) for text in (row.group, row.label) if text),
        figures.opened,
        figures.patients,
        figures.points,
        plain_number(figures.given, measure),
        plain_number(figures.wasted, measure),
        UNIT_WORD[measure],
    ]


def events_as_csv(rates: EventRates) -> Iterator[str]:
    """
    A line for each lot; percentages with three digits, chance as a probability, and no verdict
    where there is nothing to compare with.
    """
    return csv_lines(EVENT_COLUMNS, (_event_cells(row, rates) for row in rates.lots))


def _event_cells(row: LotEvents, rates: EventRates) -> list[object]:
    ends = (row.interval.low, row.interval.high) if row.interval else ()
    return [
        as_text(row.lot.product.name),
        row.lot.product.gtin or "",
        as_text(row.lot.number),
        row.treated,
        row.events,
        *(f"{share * 100:.3f}" for share in (row.share, *ends)),
        *((row.verdict_text, f"{row.judgement.chance:.6f}") if rates.can_be_compared else ("", "")),
    ]

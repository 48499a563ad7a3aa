"""The waste as CSV: a line for each month in which something was thrown away."""

from collections.abc import Iterable, Iterator

from clinic.printing.csv_files import as_text, csv_lines
from planning.amounts import plain_number
from records.results.enums import WasteBy
from records.results.queries.waste import WasteSeries

FIGURES = [
    "month", "units_opened", "opened_content", "wasted", "left_over", "otherwise",
    "percent_of_opened", "unit",
]  # fmt: skip


def waste_as_csv(by: WasteBy, series: Iterable[WasteSeries]) -> Iterator[str]:
    """Exact decimal amounts; the share with three digits, empty where nothing was opened."""
    heads = ["injector", "product"] if by is WasteBy.INJECTOR else ["product"]
    return csv_lines([*heads, *FIGURES], _lines(by, series))


def _lines(by: WasteBy, series: Iterable[WasteSeries]) -> Iterator[list[object]]:
    for one in series:
        named = [as_text(one.person)] if by is WasteBy.INJECTOR else []
        for each in one.months:
            figures = each.figures
            if not figures.wasted:
                continue
            amounts = (figures.content, figures.wasted, figures.left_over, figures.otherwise)
            yield [
                *named,
                as_text(one.product.name),
                f"{each.month:%Y-%m}",
                figures.opened,
                *(plain_number(amount, one.measure) for amount in amounts),
                "" if figures.share is None else f"{float(figures.share * 100):.3f}",
                one.unit,
            ]

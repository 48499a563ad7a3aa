"""Outcomes as CSV: a line for each region, product or injector."""

from collections.abc import Iterator

from clinic.printing.csv_files import as_text, csv_lines
from planning.outcomes import Improvement, Rater, Scheme
from records.outcomes.enums import OutcomeBy
from records.outcomes.queries.rates import OutcomeRow, Outcomes

FIGURES = [
    "rater", "scale", "patients", *(f"grade_{grade.number}_{grade}" for grade in Improvement),
    "improved_percent", "percent_from", "percent_to", "satisfaction_answers",
    "satisfaction_median",
]  # fmt: skip


def outcomes_as_csv(by: OutcomeBy, rater: Rater, found: Outcomes) -> Iterator[str]:
    """Percentages with three digits; shares and medians over fewer than five are empty."""
    return csv_lines([by.value, *FIGURES], (_cells(row, rater) for row in found.rows))


def _cells(row: OutcomeRow, rater: Rater) -> list[object]:
    outcome = row.outcome
    share, spread = outcome.improved, outcome.satisfaction
    interval = share.interval
    ends = (interval.low, interval.high) if interval else (None, None)
    return [
        as_text(row.label),
        rater.value,
        Scheme.LOW_IS_BETTER.label,
        outcome.patients,
        *outcome.counts,
        *("" if each is None else f"{float(each * 100):.3f}" for each in (share.rate, *ends)),
        len(outcome.satisfactions),
        "" if spread is None else spread.middle,
    ]

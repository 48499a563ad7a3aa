"""The figures as CSV: a line for each figure of each group, of the chosen days and those before."""

from collections.abc import Iterator

from clinic.printing.csv_files import as_text, csv_lines
from planning.desk_figures import LEAST, Figure, Share, VisitCounts
from planning.stretches import Stretch
from planning.waiting_times import WaitingTimes
from records.figures.queries.report import Report, ReviewPart

COLUMNS = [
    "figure", "by", "of", "first_day", "last_day", "part", "whole", "counted_in", "value", "unit",
    "low", "high",
]  # fmt: skip
ALL, INJECTOR = "all", "injector"
MINUTES, VISITS, REVIEWS, TREATMENTS = "minutes", "visits", "reviews", "treatments"


def figures_as_csv(told: Report) -> Iterator[str]:
    """
    Part and whole are exact, in what `counted_in` names; of the days to a review, how many had it
    and how many treatments count. `value` is in `unit`; `low` and `high` are Wilson's 95 %
    interval, or the quartiles. A share or median over fewer than five is empty. What is no share of
    anything is a value alone.
    """
    return csv_lines(COLUMNS, _lines(told))


def _lines(told: Report) -> Iterator[list[object]]:
    by = told.asked.by
    for group, row in [(ALL, told.all_visits), *((by.value, row) for row in told.visits)]:
        has_hours = group == ALL or by.has_hours
        for days, counts in ((told.asked.days, row.now), (told.asked.before, row.before)):
            for figure, *values in _of_visits(counts, has_hours=has_hours):
                yield _line(figure, group, row.label, days, values)
    for group, line in [(ALL, told.all_reviews), *((INJECTOR, row) for row in told.injectors)]:
        for days, part in ((told.asked.days, line.now), (told.asked.before, line.before)):
            for figure, *values in _of_reviews(part):
                yield _line(figure, group, line.label, days, values)


def _line(figure: str, group: str, label: str, days: Stretch, values: list) -> list[object]:
    return [figure, group, as_text(label), days.first, days.last, *values]


def _of_visits(counts: VisitCounts, *, has_hours: bool) -> Iterator[tuple]:
    for name, count in (
        ("took_place", counts.took_place),
        ("cancelled_earlier", counts.cancelled_early),
        ("not_marked", counts.unmarked),
    ):
        yield name, *_of_count(count, VISITS)
    if has_hours:
        rate = counts.utilisation
        yield (
            Figure.UTILISATION.value, counts.minutes, counts.working_minutes or 0, MINUTES,
            "" if rate is None else _number(float(rate * 100)), "%", "", "",
        )  # fmt: skip
    yield Figure.NO_SHOWS.value, *_of_share(counts.no_shows, VISITS)
    yield Figure.LATE_CANCELLATIONS.value, *_of_share(counts.late_cancellations, VISITS)


def _of_reviews(part: ReviewPart) -> Iterator[tuple]:
    counts = part.counts
    yield Figure.REVIEWS_IN_TIME.value, *_of_share(counts.in_time_share, REVIEWS)
    for name, count in (
        ("reviews_done_late", counts.late),
        ("reviews_still_open", counts.still_open),
        ("reviews_excused", counts.excused),
    ):
        yield name, *_of_count(count, REVIEWS)
    yield Figure.DAYS_TO_REVIEW.value, *_of_waits(part.waits)


def _of_count(count: int, what: str) -> list[object]:
    return ["", "", "", count, what, "", ""]


def _of_share(share: Share, what: str) -> list[object]:
    if share.rate is None or share.interval is None:
        return [share.part, share.whole, what, "", "%", "", ""]
    low, high = share.interval.low, share.interval.high
    rate = float(share.rate * 100)
    return [
        share.part, share.whole, what, _number(rate), "%", _number(low * 100), _number(high * 100)
    ]  # fmt: skip


def _of_waits(waits: WaitingTimes) -> list[object]:
    quartiles = waits.quartiles if waits.count >= LEAST else (None, None, None)
    low, middle, high = ("" if days is None else days for days in quartiles)
    return [waits.known, waits.count, TREATMENTS, middle, "days", low, high]


def _number(percent: float) -> str:
    return f"{percent:.3f}"

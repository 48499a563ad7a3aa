"""The figures as a person reads them."""

from dataclasses import dataclass
from fractions import Fraction

from planning.amounts import NO_BREAK_SPACE
from planning.desk_figures import LEAST, Figure, Share
from planning.percentages import per_cent
from planning.trend_plot import MonthValue, TrendPlot, trend_plot
from planning.waiting_times import WaitingTimes
from records.figures.queries.report import Month, Report, ReviewPart, ReviewRow, VisitRow

NOTHING = "–"
PER_CENT = f"{NO_BREAK_SPACE}%"
TOO_FEW = f"fewer than {LEAST}"


@dataclass(frozen=True)
class Cell:
    """A cell of a table: the figure, what it is made of, and that of the days before."""

    label: str
    main: str
    before: str
    subs: tuple[str, ...] = ()


@dataclass(frozen=True)
class Card:
    """One figure of the whole clinic: its value, what it is made of, and its months."""

    figure: Figure
    main: str
    before: str
    subs: tuple[str, ...]
    plot: TrendPlot


def hours_text(minutes: int) -> str:
    """ "7 h 30 min"; "0 h" for none."""
    hours, rest = divmod(minutes, 60)
    text = f"{hours:,}{NO_BREAK_SPACE}h"
    return f"{text} {rest}{NO_BREAK_SPACE}min" if rest else text


def rate_text(rate: Fraction | None) -> str:
    return NOTHING if rate is None else per_cent(rate)


def share_text(share: Share) -> str:
    """ "12.5 %"; where too few are counted, how many, and "–" where none are."""
    if not share.whole:
        return NOTHING
    return f"{share.part} of {share.whole}" if share.is_too_few else rate_text(share.rate)


def share_details(share: Share) -> tuple[str, ...]:
    """ "12 of 96" and "7.3 % to 20.6 %"."""
    if not share.whole:
        return ("none counted",)
    if (interval := share.interval) is None:
        return (TOO_FEW,)
    low, high = per_cent(interval.low), per_cent(interval.high)
    return f"{share.part:,} of {share.whole:,}", NO_BREAK_SPACE.join([low, "to", high])


def days_text(waits: WaitingTimes) -> str:
    """ "14 days"; "–" where too few are counted or half have not come that far."""
    if waits.count < LEAST or waits.median is None:
        return NOTHING
    return _days(waits.median)


def days_details(waits: WaitingTimes) -> tuple[str, ...]:
    """ "middle half 13 to 16", "31 treatments" and "2 without a review"."""
    if not waits.count:
        return ("none counted",)
    if waits.count < LEAST:
        return (TOO_FEW,)
    return _middle_half(waits), f"{waits.count:,} treatments", f"{waits.waiting:,} without a review"


def _middle_half(waits: WaitingTimes) -> str:
    low, middle, high = waits.quartiles
    if middle is None:
        return "fewer than half so far"
    return f"middle half from {low} on" if high is None else f"middle half {low} to {high}"


def _days(count: int) -> str:
    return f"{count}{NO_BREAK_SPACE}{'day' if count == 1 else 'days'}"


def visit_cells(row: VisitRow, *, has_hours: bool) -> list[Cell]:
    """The cells of a line of visits."""
    now, before = row.now, row.before
    cells = [
        Cell("Took place", f"{now.took_place:,}", f"{before.took_place:,}",
             (hours_text(now.minutes),)),
        _share_cell("No-shows", now.no_shows, before.no_shows),
        _share_cell("Late cancellations", now.late_cancellations, before.late_cancellations),
        Cell("Cancelled earlier", f"{now.cancelled_early:,}", f"{before.cancelled_early:,}"),
        Cell("Not marked", f"{now.unmarked:,}", f"{before.unmarked:,}"),
    ]  # fmt: skip
    if has_hours:
        worked = f"of {hours_text(now.working_minutes or 0)}"
        rates = rate_text(now.utilisation), rate_text(before.utilisation)
        cells.append(Cell("Utilisation", *rates, (worked,)))
    return cells


def review_cells(row: ReviewRow) -> list[Cell]:
    """The cells of a line of reviews."""
    now, before = row.now.counts, row.before.counts
    return [
        _share_cell("In time", now.in_time_share, before.in_time_share),
        Cell("Done late", f"{now.late:,}", f"{before.late:,}"),
        Cell("Still open", f"{now.still_open:,}", f"{before.still_open:,}"),
        Cell("Excused", f"{now.excused:,}", f"{before.excused:,}"),
        Cell("Days to review", days_text(row.now.waits), days_text(row.before.waits),
             days_details(row.now.waits)),
    ]  # fmt: skip


def _share_cell(label: str, now: Share, before: Share) -> Cell:
    return Cell(label, share_text(now), share_text(before), share_details(now))


def cards(told: Report) -> list[Card]:
    """The five figures of all, in the order of `Figure`."""
    return [_card(figure, told) for figure in Figure]


def _card(figure: Figure, told: Report) -> Card:
    visits, reviews = told.all_visits, told.all_reviews
    cells = visit_cells(visits, has_hours=True) + review_cells(reviews)
    named = {cell.label: cell for cell in cells}
    label = "In time" if figure is Figure.REVIEWS_IN_TIME else figure.label
    cell = named[label]
    subs = cell.subs
    if figure is Figure.UTILISATION:
        subs = (f"{hours_text(visits.now.minutes)} {subs[0]}",)
    unit = "" if figure is Figure.DAYS_TO_REVIEW else PER_CENT
    plot = trend_plot([_month_value(figure, month) for month in told.months], unit=unit)
    return Card(figure, cell.main, cell.before, subs, plot)


def _month_value(figure: Figure, month: Month) -> MonthValue:
    value, low, high, words = _values(figure, month)
    text = f"{month.first:%B %Y}: {words}"
    return MonthValue(month.first, value, low, high, month.is_asked, text)


def _values(figure: Figure, month: Month) -> tuple[float | None, float | None, float | None, str]:
    """Value and range of a month, in percent or days, and the same in words."""
    visits, reviews = month.visits, month.reviews
    match figure:
        case Figure.UTILISATION:
            rate = visits.utilisation
            return (None if rate is None else float(rate * 100)), None, None, rate_text(rate)
        case Figure.NO_SHOWS:
            return _of_share(visits.no_shows)
        case Figure.LATE_CANCELLATIONS:
            return _of_share(visits.late_cancellations)
        case Figure.REVIEWS_IN_TIME:
            return _of_share(reviews.counts.in_time_share)
    return _of_waits(reviews)


def _of_share(share: Share) -> tuple[float | None, float | None, float | None, str]:
    words = f"{share_text(share)} ({', '.join(share_details(share))})"
    if share.rate is None or share.interval is None:
        return None, None, None, words
    return float(share.rate * 100), share.interval.low * 100, share.interval.high * 100, words


def _of_waits(reviews: ReviewPart) -> tuple[float | None, float | None, float | None, str]:
    waits = reviews.waits
    words = f"{days_text(waits)} ({', '.join(days_details(waits))})"
    if waits.count < LEAST or waits.median is None:
        return None, None, None, words
    low, middle, high = waits.quartiles
    return middle, low, high, words

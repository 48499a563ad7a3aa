"""All figures of the chosen days together, beside those of the days before."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime

from clinic.rooms.models import Room
from clinic.sites.models import Site
from clinic.staff.models import User
from clinic.visit_kinds.enums import AppointmentKind
from planning.desk_figures import ReviewCounts, VisitCounts
from planning.names import fold
from planning.waiting_times import WaitingTimes, waiting_times
from records.figures.enums import GroupBy
from records.figures.queries.asked import BEFORE, NOW, Asked, Bucket
from records.figures.queries.reviews import ReviewFigures, review_figures
from records.figures.queries.visits import Key, VisitFigures, visit_figures


@dataclass(frozen=True)
class VisitRow:
    """One practitioner, kind, site or room, on the chosen days and on those before."""

    label: str
    now: VisitCounts
    before: VisitCounts


@dataclass(frozen=True)
class ReviewPart:
    """How reviews ended, and how long treatments waited for them."""

    counts: ReviewCounts
    waits: WaitingTimes


@dataclass(frozen=True)
class ReviewRow:
    """One injector, on the chosen days and on those before."""

    label: str
    now: ReviewPart
    before: ReviewPart


@dataclass(frozen=True)
class Month:
    """All figures of a calendar month, by its first day."""

    first: date
    is_asked: bool
    visits: VisitCounts
    reviews: ReviewPart


@dataclass(frozen=True)
class Report:
    """
    Attributes:
        visits, injectors: by label, without rows that count nothing.
        all_visits, all_reviews: the whole clinic, or the one practitioner asked for.
    """

    asked: Asked
    all_visits: VisitRow
    visits: list[VisitRow]
    all_reviews: ReviewRow
    injectors: list[ReviewRow]
    months: list[Month]

    @property
    def is_empty(self) -> bool:
        """Whether nothing but working hours is on record."""
        visits, reviews = self.all_visits, self.all_reviews
        counted = any(counts.visits for counts in (visits.now, visits.before))
        return not counted and all(
            part.counts == ReviewCounts() and not part.waits.count
            for part in (reviews.now, reviews.before)
        )


EVERYBODY = "All"


def report(asked: Asked, now: datetime) -> Report:
    """Everything the page and its file show, in a constant number of queries."""
    visits, reviews = visit_figures(asked, now), review_figures(asked)
    people = dict(User.objects.values_list("pk", "full_name"))
    return Report(
        asked=asked,
        all_visits=VisitRow(EVERYBODY, visits.total(NOW), visits.total(BEFORE)),
        visits=_visit_rows(asked, visits, people),
        all_reviews=_review_row(EVERYBODY, reviews, None),
        injectors=_sorted(_review_row(people[key], reviews, key) for key in reviews.injectors),
        months=[_month(asked, month.first, visits, reviews) for month in asked.months],
    )


def _labels(by: GroupBy, people: dict[int, str]) -> Callable[[Key], str]:
    """How a key of the grouping is called."""
    named: dict[Key, str] = {}
    match by:
        case GroupBy.PRACTITIONER:
            named = dict(people.items())
        case GroupBy.KIND:
            named.update(AppointmentKind.choices())
        case GroupBy.SITE:
            named.update(Site.objects.values_list("pk", "name"))
        case GroupBy.ROOM:
            rooms = Room.objects.values_list("pk", "name", "site__name")
            named.update({pk: f"{name}, {site}" for pk, name, site in rooms})
    return lambda key: named.get(key, f"Without a {by.label.lower()}")


def _visit_rows(asked: Asked, visits: VisitFigures, people: dict[int, str]) -> list[VisitRow]:
    """Those with a visit, or with working hours where these belong to them."""
    label = _labels(asked.by, people)
    rows = (VisitRow(label(key), visits.of[key, NOW], visits.of[key, BEFORE])
            for key in visits.keys)  # fmt: skip
    return _sorted(
        row
        for row in rows
        if any(counts.visits for counts in (row.now, row.before))
        or (asked.by.has_hours and any(counts.working_minutes for counts in (row.now, row.before)))
    )


def _sorted(rows) -> list:
    return sorted(rows, key=lambda row: (fold(row.label), row.label))


def _review_row(label: str, reviews: ReviewFigures, key: int | None) -> ReviewRow:
    return ReviewRow(label, _part(reviews, key, NOW), _part(reviews, key, BEFORE))


def _part(reviews: ReviewFigures, key: int | None, bucket: Bucket) -> ReviewPart:
    return ReviewPart(reviews.counts((key, bucket)), waiting_times(reviews.waits[key, bucket]))


def _month(asked: Asked, first: date, visits: VisitFigures, reviews: ReviewFigures) -> Month:
    is_asked = asked.days.first.replace(day=1) <= first <= asked.days.last
    return Month(first, is_asked, visits.months[first], _part(reviews, None, first))

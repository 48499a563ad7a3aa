"""
What a session asks to be seen again for, by the clinic's rules as they are now.

Sessions, points and adverse events are reached from the patient's rows by their reverse names: this
capability knows nothing of those that schedule its reviews.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from clinic.review_rules.queries import RuleBook, rule_book
from planning.atlas.region_groups import group_of
from planning.atlas.regions import Region
from planning.review_rules import Given, ReviewEvent, Visit, event_of
from planning.vocabulary import ProductKind

# The front desk reads it, and is not told of adverse events.
SINCE_EVENT = "the report"
_KIND = "unit__lot__product__kind"


@dataclass(frozen=True, slots=True)
class Treatment:
    """
    What a session gave, as the rules see it.

    Attributes:
        events: by kind, whether it was the first one, a later one or a top-up, if a rule asks.
    """

    on: date
    given: frozenset[Given]
    events: dict[ProductKind, ReviewEvent]

    def keys(self, book: RuleBook) -> set[int | None]:
        """The rules that it chooses; empty if nothing was given."""
        return book.keys_after(self.given, self.events)


def treatment_of(session, book: RuleBook, *, points: Iterable | None = None) -> Treatment:
    """
    The session's standing points and, where a rule asks for them, the patient's sessions before it.

    Args:
        points: those points with their products, where they were read already.
    """
    if points is None:
        pairs = session.points.standing().values_list(_KIND, "region").distinct()
    else:
        pairs = {(point.unit.lot.product.kind, point.region) for point in points}
    given = frozenset(Given(ProductKind(kind), group_of(Region(region))) for kind, region in pairs)
    on = timezone.localdate(session.started_at)
    kinds = {one.kind for one in given}
    if not (given and book.tells_events_apart):
        return Treatment(on, given, dict.fromkeys(kinds, ReviewEvent.TREATMENT))
    earlier, days = _earlier_by_kind(session), book.policy.top_up_days
    events = {kind: event_of(on, earlier.get(kind, ()), top_up_days=days) for kind in kinds}
    return Treatment(on, given, events)


def _earlier_by_kind(session) -> dict[str, set[date]]:
    """Days of the patient's signed sessions before this one, by kind of product."""
    rows = (
        session.patient.sessions.signed()
        .filter(started_at__lt=session.started_at, points__removed_at__isnull=True)
        .exclude(pk=session.pk)
        .values_list(f"points__{_KIND}", "started_at")
        .distinct()
    )
    found: dict[str, set[date]] = {}
    for kind, started_at in rows:
        found.setdefault(kind, set()).add(timezone.localdate(started_at))
    return found


def planned_visits(
    session, *, book: RuleBook | None = None, points: Iterable | None = None
) -> list[Visit]:
    """
    The reviews that signing the session now would schedule, none if nothing was given.

    Args:
        book, points: as they were read already; else they are read here.

    Raises:
        planning.review_dates.ReviewDateError: the clinic has no open day within a year.
    """
    on = timezone.localdate(session.started_at)
    book = book or rule_book(on_or_after=on)
    treatment = treatment_of(session, book, points=points)
    return book.visits(treatment.keys(book), on)


def event_visit(event, book: RuleBook, on: date) -> Visit | None:
    """
    The review that a rule asks for after an adverse event written down on `on`, if one does.

    The event's suspected lot and its region say what the rule is for; without a lot, everything
    that its session gave.
    """
    if event.lot is not None:
        kinds: Iterable[str] = [event.lot.product.kind]
    else:
        kinds = event.session.points.standing().values_list(_KIND, flat=True).distinct()
    group = group_of(Region(event.region)) if event.region else None
    key = book.key_after_event([ProductKind(kind) for kind in kinds], group)
    if key is None:
        return None
    (visit,) = book.visits([key], on, since=SINCE_EVENT)
    return visit

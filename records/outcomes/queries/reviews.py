"""What a review asks about, what was written of it, and what a top-up may repeat."""

from collections import defaultdict
from collections.abc import Iterable
from typing import NamedTuple

from planning.atlas.regions import MIDLINE_REGIONS, Region
from planning.vocabulary import Side
from records.outcomes.models import OwnAnswers, ReviewRecord
from records.patients.models import Patient
from records.plans.models import PlanLine
from records.reviews.enums import ReviewOutcome
from records.reviews.models import Review
from records.sessions.models import InjectionEntry, TreatmentSession
from records.sessions.queries.points import session_points

# Points of one line of a plan have all of this in common; their amounts add up.
_WAY = ("region", "side", "plane", "technique", "instrument", "gauge", "length_mm")


class Result(NamedTuple):
    """A review with what was written of it last; None where nothing is."""

    review: Review
    record: ReviewRecord | None

    @property
    def is_excused(self) -> bool:
        return self.review.outcome == ReviewOutcome.EXCUSED


def treated_regions(session: TreatmentSession) -> list[Region]:
    """The regions in which a point stands, in the order of the atlas."""
    treated = set(session.points.standing().order_by().values_list("region", flat=True))
    return [region for region in Region if region.value in treated]


def own_answers(review: Review) -> OwnAnswers | None:
    """What the patient answered alone, the last time they did."""
    return review.own_answers.first()


def records_of_review(review: Review) -> list[ReviewRecord]:
    """The one that holds first, then those it took the place of."""
    return list(review.records.with_ratings().order_by("-pk"))


def records_of_patient(patient: Patient) -> list[ReviewRecord]:
    """The ones that hold, the latest first."""
    found = ReviewRecord.objects.filter(review__patient=patient)
    return list(found.that_hold().with_ratings())


def results_of_session(session: TreatmentSession) -> list[Result]:
    """Each review of a session, the earliest first, with the record of it that holds."""
    found = ReviewRecord.objects.filter(review__session=session).that_hold().with_ratings()
    records = {record.review_id: record for record in found}
    reviews = session.reviews.order_by("due_on", "pk")
    return [Result(review, records.get(review.pk)) for review in reviews]


def misses_event(record: ReviewRecord) -> bool:
    """Whether it says that there is an adverse event, and none of its session is recorded."""
    return record.has_event and not record.review.session.adverse_events.exists()


def repeatable_lines(session: TreatmentSession, plannable: Iterable[str]) -> list[PlanLine]:
    """
    The points of a session as lines of a plan, not saved: one for each product, place and way, with
    the sum of what was given.

    Args:
        plannable: kinds of product that a plan holds.
    """
    together: dict[tuple, list[InjectionEntry]] = defaultdict(list)
    kinds = set(plannable)
    for point in session_points(session):
        if point.unit.lot.product.kind in kinds:
            way = tuple(getattr(point, name) for name in _WAY)
            together[(point.unit.lot.product_id, *way)].append(point)
    return [_line(points) for points in together.values()]


def asks_for_side(line: PlanLine) -> bool:
    """A plan names left or right where a region comes in pairs; points may lie between the two."""
    return line.side == Side.MIDLINE and Region(line.region) not in MIDLINE_REGIONS


def _line(points: list[InjectionEntry]) -> PlanLine:
    first = points[0]
    return PlanLine(
        product=first.unit.lot.product,
        amount=sum(point.amount for point in points),
        **{name: getattr(first, name) for name in _WAY},
    )

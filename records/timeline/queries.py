"""What a patient's timeline shows: sessions, reviews with results, and how long effects last."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from dateutil.relativedelta import relativedelta
from django.utils import timezone

from clinic.policy.queries import current_policy
from clinic.review_rules.queries import known_durations
from planning.atlas.region_groups import RegionGroup, group_of
from planning.atlas.regions import Region
from planning.durations import TypicalDuration, duration_for, next_treatment
from planning.sources import Confidence, Source
from planning.timeline import Bar, BarKind, Dot, Drawing, Lane, draw
from planning.vocabulary import ProductKind
from records.imports.models import ImportedTreatment
from records.imports.queries.treatments import treatments_of
from records.outcomes.models import ReviewRecord
from records.outcomes.queries.reviews import records_of_patient
from records.patients.models import Patient
from records.reviews.models import Review
from records.sessions.models import InjectionEntry, TreatmentSession

SHOWN_MONTHS = 18


@dataclass(frozen=True, slots=True)
class Effect:
    """The last treatment with one kind of product in one part of the body, and what follows."""

    kind: ProductKind
    group: RegionGroup
    treated_on: date
    duration: TypicalDuration
    not_before: date | None

    @property
    def label(self) -> str:
        return f"{self.kind.label}, {self.group.label.lower()}"

    @property
    def fading(self) -> tuple[date, date]:
        return self.duration.fading(self.treated_on)

    @property
    def next(self) -> tuple[date, date]:
        return next_treatment(self.treated_on, self.duration, not_before=self.not_before)

    @property
    def is_held_back(self) -> bool:
        """Whether the clinic's shortest interval ends after the fading begins."""
        return self.next != self.fading


@dataclass(frozen=True, slots=True)
class Timeline:
    """
    Attributes:
        drawing: None where there is nothing to draw.
        unknown: what was given and nobody said how long it lasts.
        former: past treatments of the former record, as imported: no sessions, and no effect is
            reckoned from them, for their product is known in words only.
    """

    drawing: Drawing | None
    sessions: list[TreatmentSession]
    reviews: list[Review]
    results: list[ReviewRecord]
    effects: list[Effect]
    unknown: list[str]
    former: list[ImportedTreatment]


def timeline_of(patient: Patient, *, today: date) -> Timeline:
    """Of the last months and what is to come: eight queries."""
    since = today - relativedelta(months=SHOWN_MONTHS)
    sessions = list(
        patient.sessions.signed().filter(started_at__date__gte=since).order_by("started_at")
    )
    reviews = list(patient.reviews.filter(due_on__gte=since).order_by("due_on", "id"))
    results = [record for record in records_of_patient(patient) if record.seen_on >= since]
    results.reverse()
    effects, unknown = _effects(patient)
    shown = [effect for effect in effects if effect.next[1] >= since]
    former = list(treatments_of(patient).filter(treated_on__gte=since).order_by("treated_on"))
    lanes = [*_former_lane(former), *_lanes(sessions, reviews, results, shown)]
    drawing = draw(lanes, today=today) if lanes else None
    return Timeline(drawing, sessions, reviews, results, shown, unknown, former)


def _effects(patient: Patient) -> tuple[list[Effect], list[str]]:
    known, policy = known_durations(), current_policy()
    last: dict[tuple[ProductKind, RegionGroup], tuple[date, int | None]] = {}
    for kind, group, day, months in _given(patient):
        last[kind, group] = (day, months)
    toxins = [day for (kind, _), (day, _) in last.items() if kind is ProductKind.TOXIN]
    free = max(toxins) + timedelta(days=policy.toxin_interval_days) if toxins else None
    effects, unknown = [], []
    for (kind, group), (day, months) in last.items():
        found = duration_for(known, kind, group) or _of_product(kind, group, months)
        if found:
            not_before = free if kind is ProductKind.TOXIN else None
            effects.append(Effect(kind, group, day, found, not_before))
        elif kind in LASTING:
            unknown.append(f"{kind.label}, {group.label.lower()}")
    return sorted(effects, key=lambda effect: effect.next), unknown


# Hyaluronidase and anaesthetics have no effect that is looked after for months.
LASTING = (ProductKind.HA_FILLER, ProductKind.OTHER_FILLER, ProductKind.TOXIN)


def _given(patient: Patient) -> Iterator[tuple[ProductKind, RegionGroup, date, int | None]]:
    """What was given when and where, the oldest first; months as the product's page has them."""
    rows = (
        InjectionEntry.objects.standing()
        .filter(session__patient=patient, session__signed_at__isnull=False)
        .order_by("session__started_at")
        .values_list(
            "unit__lot__product__kind", "region", "session__started_at",
            "unit__lot__product__typical_duration_months",
        )
    )  # fmt: skip
    for kind, region, started_at, months in rows:
        yield ProductKind(kind), group_of(Region(region)), timezone.localdate(started_at), months


def _of_product(
    kind: ProductKind, group: RegionGroup, months: int | None
) -> TypicalDuration | None:
    if not months:
        return None
    source = Source("The product's page", "typical duration", Confidence.CLINIC_POLICY)
    return TypicalDuration(kind, group, months, months, source)


def _lanes(
    sessions: list[TreatmentSession],
    reviews: list[Review],
    results: list[ReviewRecord],
    effects: list[Effect],
) -> Iterator[Lane]:
    if sessions:
        days = [timezone.localdate(session.started_at) for session in sessions]
        yield Lane("Sessions", tuple(Dot(day, f"Session {_short(day)}") for day in days))
    if reviews:
        yield Lane(
            "Reviews",
            tuple(
                Dot(review.due_on, f"Review {_short(review.due_on)}", review.closed_at is None)
                for review in reviews
            ),
            tuple(
                Bar(
                    review.earliest_on, review.latest_on, BarKind.WINDOW,
                    f"Suits {_span((review.earliest_on, review.latest_on))}",
                )
                for review in reviews
            ),
        )  # fmt: skip
    if results:
        yield Lane(
            "Results",
            tuple(
                Dot(record.seen_on, f"Result {_short(record.seen_on)}: {record.told}")
                for record in results
            ),
        )
    for effect in effects:
        yield _effect_lane(effect)


def _former_lane(former: list[ImportedTreatment]) -> Iterator[Lane]:
    if former:
        yield Lane(
            "Former record",
            tuple(
                Dot(one.treated_on, f"Former record {_short(one.treated_on)}: {one.product}")
                for one in former
            ),
        )


def _effect_lane(effect: Effect) -> Lane:
    fades, again = effect.fading, effect.next
    return Lane(
        effect.label,
        (Dot(effect.treated_on, f"Last treated {_short(effect.treated_on)}"),),
        (
            Bar(effect.treated_on, fades[0], BarKind.EFFECT, "Effect"),
            Bar(*fades, BarKind.FADING, f"Usually fades {_span(fades)}"),
            Bar(*again, BarKind.NEXT, f"Next treatment usually {_span(again)}"),
        ),
    )


def _short(day: date) -> str:
    return f"{day.day} {day:%b %Y}"


def _span(days: tuple[date, date]) -> str:
    return f"{_short(days[0])} to {_short(days[1])}"

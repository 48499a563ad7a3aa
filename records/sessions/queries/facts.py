"""What the record knows around a session, as the limits of the planning service take it."""

from collections.abc import Hashable, Iterable, Mapping
from datetime import date
from itertools import groupby

from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from planning.ages import age_years
from planning.care import CareElsewhere, EarlierFiller, FillerFamily
from planning.flags import FILLERS, LimitSettings, SessionFacts, SessionPoint, ToxinGiven
from planning.lidocaine import LidocaineSource
from planning.reference_ranges import RegionRange
from planning.review_dates import Interval, IntervalUnit, first_day_within
from planning.vocabulary import Measure, Plane, ProductKind, Side
from records.plans.models import PlanStage
from records.sessions.models import InjectionEntry, TreatmentSession
from records.sessions.queries.around import Around, Given

YEAR = Interval(12, IntervalUnit.MONTH)
THREE_MONTHS = Interval(3, IntervalUnit.MONTH)


def session_facts(
    session: TreatmentSession,
    points: Iterable[InjectionEntry],
    policy: ClinicPolicy,
    around: Around | None = None,
) -> SessionFacts:
    """
    The session and what the record knows around it: a query for each kind of thing.

    Args:
        around: where that was read for several sessions; else it is read here.
    """
    around = around or Around([session])
    patient, today = session.patient, timezone.localdate(session.started_at)
    earlier = around.earlier(session)
    toxins = [given for given in earlier if given.kind == ProductKind.TOXIN]
    year, three_months = (first_day_within(today, span) for span in (YEAR, THREE_MONTHS))
    return SessionFacts(
        today=today,
        points=tuple(_session_point(point) for point in points),
        age_years=age_years(patient.birth_date, today),
        weight_g=patient.weight_g,
        filler_ul_last_year=sum(
            given.amount for given in earlier if given.kind in FILLERS and given.day >= year
        ),
        earlier_fillers=_earlier_fillers(given for given in earlier if given.kind in FILLERS),
        last_toxin_date=max((given.day for given in toxins), default=None),
        last_toxin_by_region=_latest_by_region(toxins),
        toxin_last_3_months=_by_product(given for given in toxins if given.day >= three_months),
        toxin_window_from=three_months,
        care=_had_by(today, around.care(session)),
        other_lidocaine=_other_lidocaine(session),
        planned=_planned(around.stage(session)),
        settings=_limit_settings(policy, around.ranges),
    )


def _by_product(toxins: Iterable[Given]) -> tuple[ToxinGiven, ...]:
    return tuple(
        ToxinGiven(product, name, sum(given.amount for given in rows))
        for (product, name), rows in groupby(toxins, lambda given: (given.line_key, given.name))
    )


def _had_by(day: date, care: Iterable[CareElsewhere]) -> tuple[CareElsewhere, ...]:
    """Without what can only have been later: a session may be written down days after it was."""
    return tuple(one for one in care if one.when.first is None or one.when.first <= day)


def _other_lidocaine(session: TreatmentSession) -> tuple[LidocaineSource, ...]:
    """Of the anaesthesia beside the points; a session that is not stored yet has none."""
    if session.pk is None:
        return ()
    return tuple(row.as_source for row in session.anaesthesia.all() if row.removed_at is None)


def _planned(stage: PlanStage | None) -> dict[tuple[str, Side, Hashable], int]:
    """By region, side and product line, what the plan has there for a session."""
    amounts: dict[tuple[str, Side, Hashable], int] = {}
    for line in stage.lines.all() if stage else ():
        key = (line.region, Side(line.side), line.product.line_key)
        amounts[key] = amounts.get(key, 0) + line.amount
    return amounts


def _latest_by_region(toxins: Iterable[Given]) -> dict[str, date]:
    latest: dict[str, date] = {}
    for given in toxins:
        latest[given.region] = max(given.day, latest.get(given.region, given.day))
    return latest


def _earlier_fillers(fillers: Iterable[Given]) -> tuple[EarlierFiller, ...]:
    """The latest of each product in each region."""
    latest = {(given.region, given.product): given for given in sorted(fillers, key=Given.when)}
    return tuple(
        EarlierFiller(given.region, FillerFamily.of(ProductKind(given.kind)), given.name, given.day)
        for given in latest.values()
    )


def _session_point(point: InjectionEntry) -> SessionPoint:
    product = point.unit.lot.product
    return SessionPoint(
        product_key=product.line_key,
        product_label=product.name,
        measure=Measure(product.measure),
        region=point.region,
        region_label=point.region_label,
        side=Side(point.side),
        unit_key=point.unit_id,
        amount=point.amount,
        number=point.number,
        kind=ProductKind(product.kind),
        plane=Plane(point.plane),
        substance=product.name,
        lidocaine_ug_per_ml=product.lidocaine_ug_per_ml,
        confirmed=point.confirmed_odd,
        confirmed_by=str(point.logged_by) if point.confirmed_odd else "",
    )


def _limit_settings(policy: ClinicPolicy, ranges: Mapping[str, RegionRange]) -> LimitSettings:
    return LimitSettings(
        minimum_age_years=policy.minimum_age_years,
        filler_ul_per_60_kg_year=policy.filler_ul_per_60_kg_year,
        toxin_interval_days=policy.toxin_interval_days,
        toxin_ceiling_centiunits=policy.toxin_ceiling_centiunits,
        filler_session_ul=policy.filler_session_ul,
        toxin_session_centiunits=policy.toxin_session_centiunits,
        side_difference_percent=policy.side_difference_percent,
        region_ranges=ranges,
        wait_days=policy.wait_days,
    )

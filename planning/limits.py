"""
The flags of a session: what the clinic's figures, a published limit or plain sense asks about.

Limits are cautions to show, never rules that block; the label of the product in hand always wins.
`session_flags` is the one entry point. Figures and their sources: `sources`, `reference_ranges`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterator
from datetime import timedelta

from planning.amounts import format_amount
from planning.flags import (
    OFFERED_FILLER_UL_PER_60_KG_YEAR,
    Flag,
    FlagLevel,
    SessionFacts,
)
from planning.lidocaine import (
    LidocaineSource,
    cap_ug,
    format_mg,
    has_epinephrine_throughout,
    limit_by_weight_ug,
    total_ug,
)
from planning.point_checks import (
    label_total_flags,
    plane_flags,
    region_flags,
    slip_flags,
    uncovered_flags,
)
from planning.reference_ranges import ONABOTULINUM, toxin_named_in
from planning.sources import (
    FILLER_AGE,
    FILLER_YEARLY_VOLUME,
    LIDOCAINE_ALL_SOURCES,
    NO_SOURCE,
    TOXIN_CEILING,
    TOXIN_INTERVAL,
    clinic_policy,
)
from planning.vocabulary import Measure

FILLER_ADULT_YEARS = 22
LABEL_INTERVAL_DAYS = 90
LABEL_CEILING_CENTIUNITS = 40_000


def session_flags(facts: SessionFacts) -> tuple[Flag, ...]:
    """
    Every flag of the session, most pressing first; none for a session without points.

    Each check stands alone, and one that lacks what it needs (age, weight, a setting) says so
    instead of computing.
    """
    if not facts.points:
        return ()
    checks = (
        _age_flags,
        _weight_flags,
        _filler_year_flags,
        _toxin_interval_flags,
        _toxin_ceiling_flags,
        _lidocaine_flags,
        slip_flags,
        plane_flags,
        region_flags,
        label_total_flags,
        uncovered_flags,
    )
    found = [flag for check in checks for flag in check(facts)]
    order = list(FlagLevel)
    return tuple(sorted(found, key=lambda flag: order.index(flag.level)))


def _age_flags(facts: SessionFacts) -> Iterator[Flag]:
    age, minimum = facts.age_years, facts.settings.minimum_age_years
    if age is None:
        yield Flag(
            "age-missing",
            FlagLevel.NOTE,
            "The age is not recorded, so no age limit was checked.",
            "Record the date of birth.",
            NO_SOURCE,
        )
        return
    if minimum is not None and age < minimum:
        yield Flag(
            "age-policy",
            FlagLevel.CAUTION,
            f"The patient is {age}; the clinic treats from {minimum}.",
            "Stop and ask the practice owner; local law comes first.",
            clinic_policy(f"no treatment below {minimum} years"),
        )
    fillers = tuple(point.number for point in facts.points if point.is_filler)
    if fillers and age < FILLER_ADULT_YEARS:
        yield Flag(
            "age-filler",
            FlagLevel.CAUTION,
            f"The patient is {age}; fillers are approved from {FILLER_ADULT_YEARS} years.",
            "Check the label of this product and note why it is given.",
            FILLER_AGE,
            fillers,
        )


def _weight_flags(facts: SessionFacts) -> Iterator[Flag]:
    needs = []
    if facts.settings.filler_ul_per_60_kg_year is not None and _filler_ul(facts):
        needs.append("the yearly filler volume")
    if total_ug(_lidocaine_sources(facts)):
        needs.append("lidocaine per kilogram")
    if facts.weight_g is None and needs:
        yield Flag(
            "weight-missing",
            FlagLevel.NOTE,
            f"The weight is not recorded, so {' and '.join(needs)} was not checked.",
            "Ask for the weight and record it.",
            NO_SOURCE,
        )


def _filler_ul(facts: SessionFacts) -> int:
    """Filler of this session, microlitres."""
    return sum(point.amount for point in facts.points if point.is_filler)


def _filler_year_flags(facts: SessionFacts) -> Iterator[Flag]:
    per_60_kg, today_ul = facts.settings.filler_ul_per_60_kg_year, _filler_ul(facts)
    if not today_ul:
        return
    if per_60_kg is None:
        offered = format_amount(OFFERED_FILLER_UL_PER_60_KG_YEAR, Measure.VOLUME)
        yield Flag(
            "filler-year-unset",
            FlagLevel.NOTE,
            "The clinic has set no yearly filler volume, so none was checked.",
            f"The practice owner may set one; {offered} per 60 kg is on offer.",
            FILLER_YEARLY_VOLUME,
        )
        return
    if facts.weight_g is None:
        return
    year_ul = facts.filler_ul_last_year + today_ul
    if year_ul * 60_000 > per_60_kg * facts.weight_g:
        limit_ul = per_60_kg * facts.weight_g // 60_000
        is_offered = per_60_kg == OFFERED_FILLER_UL_PER_60_KG_YEAR
        own = clinic_policy(f"{format_amount(per_60_kg, Measure.VOLUME)} per 60 kg and year")
        yield Flag(
            "filler-year",
            FlagLevel.CAUTION,
            f"Filler in the rolling year: {format_amount(year_ul, Measure.VOLUME)}, above "
            f"{format_amount(limit_ul, Measure.VOLUME)} for this weight.",
            "Check the label of this product and consider stopping here.",
            FILLER_YEARLY_VOLUME if is_offered else own,
        )


def _toxin_interval_flags(facts: SessionFacts) -> Iterator[Flag]:
    points = tuple(point.number for point in facts.points if point.is_toxin)
    days = facts.settings.toxin_interval_days
    if not points or facts.last_toxin_date is None:
        return
    since = (facts.today - facts.last_toxin_date).days
    if since < days:
        unit = "day" if since == 1 else "days"
        allowed = facts.last_toxin_date + timedelta(days=days)
        yield Flag(
            "toxin-interval",
            FlagLevel.CAUTION,
            f"Toxin was last given on {facts.last_toxin_date.isoformat()}, {since} {unit} before; "
            f"{days} days end on {allowed.isoformat()}.",
            "Consider waiting, or note why it is given earlier.",
            TOXIN_INTERVAL if days == LABEL_INTERVAL_DAYS else clinic_policy(f"{days} days apart"),
            points,
        )


def _toxin_ceiling_flags(facts: SessionFacts) -> Iterator[Flag]:
    """
    Each toxin on its own, sizes of pack together. The published figure is for one preparation: it
    is not applied to another that is known, and is shown with its name for one that is not.
    """
    given: Counter[Hashable] = Counter()
    labels: dict[Hashable, str] = {}
    for point in facts.points:
        if point.is_toxin:
            key = toxin_named_in(point.substance) or point.product_key
            given[key] += point.amount
            labels.setdefault(key, point.product_label)
    for earlier in facts.toxin_last_3_months:
        key = toxin_named_in(earlier.substance) or earlier.product_key
        if key in labels:
            given[key] += earlier.centiunits
    ceiling = facts.settings.toxin_ceiling_centiunits
    is_published = ceiling == LABEL_CEILING_CENTIUNITS
    for key, total in given.items():
        is_other_toxin = isinstance(key, str) and toxin_named_in(key) not in (None, ONABOTULINUM)
        if total > ceiling and not (is_published and is_other_toxin):
            shown = format_amount(ceiling, Measure.DOSE)
            yield Flag(
                "toxin-ceiling",
                FlagLevel.CAUTION,
                f"{labels[key]}: {format_amount(total, Measure.DOSE)} in three months over all "
                f"indications, above {shown}.",
                "Ask about toxin given elsewhere and consider stopping here.",
                TOXIN_CEILING if is_published else clinic_policy(f"{shown} in three months"),
            )


def _lidocaine_sources(facts: SessionFacts) -> list[LidocaineSource]:
    inside = [
        LidocaineSource(
            point.product_label, point.amount, point.lidocaine_ug_per_ml, point.with_epinephrine
        )
        for point in facts.points
        if point.measure is Measure.VOLUME
    ]
    return [*inside, *facts.other_lidocaine]


def _lidocaine_flags(facts: SessionFacts) -> Iterator[Flag]:
    """All sources against the limit by weight, or against the cap while the weight is missing."""
    sources, limits = _lidocaine_sources(facts), facts.settings.lidocaine
    epinephrine = has_epinephrine_throughout(sources)
    if facts.weight_g is None:
        limit, by = cap_ug(with_epinephrine=epinephrine, limits=limits), "any weight"
    else:
        limit = limit_by_weight_ug(facts.weight_g, with_epinephrine=epinephrine, limits=limits)
        by = "this weight"
    total = total_ug(sources)
    if total > limit:
        yield Flag(
            "lidocaine",
            FlagLevel.CAUTION,
            f"Lidocaine from all sources: {format_mg(total)}, above {format_mg(limit)} "
            f"{'with' if epinephrine else 'without'} epinephrine for {by} "
            f"({LIDOCAINE_ALL_SOURCES.detail}).",
            "Give no more; watch for signs of toxicity by the clinic's protocol.",
            limits.source,
        )

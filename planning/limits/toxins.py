"""Toxin: time since the last, units in a session and in three months, toxin given elsewhere."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Hashable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from planning.amounts import format_amount
from planning.care import CareElsewhere, CareKind, PartialDay, Precision
from planning.flags import Flag, FlagLevel, SessionFacts
from planning.reference_ranges import ONABOTULINUM, toxin_named_in
from planning.sources import (
    TOXIN_CEILING,
    TOXIN_INTERVAL,
    TOXIN_NOT_INTERCHANGEABLE,
    Source,
    clinic_policy,
)
from planning.vocabulary import Measure

LABEL_INTERVAL_DAYS = 90
LABEL_CEILING_CENTIUNITS = 40_000
WAIT_OR_NOTE = "Consider waiting, or note why it is given earlier."


@dataclass(frozen=True, slots=True)
class _Last:
    """When a treatment took place, as far as it is known, and how it is told."""

    when: PartialDay
    day: date
    told: str


def toxin_interval_flags(facts: SessionFacts) -> Iterator[Flag]:
    """The time since the last treatment, wherever on the body, if no region tells it already."""
    last, points = _last_anywhere(facts), tuple(point.number for point in facts.toxins)
    if not points or last is None or not _is_early(facts, last):
        return
    if last.day not in {found.day for found in _early_regions(facts).values()}:
        yield Flag(
            "toxin-interval",
            FlagLevel.CAUTION,
            f"Toxin was last given {last.told}, {_waited(facts, last)}.",
            WAIT_OR_NOTE,
            _interval_source(facts),
            points,
        )


def toxin_region_interval_flags(facts: SessionFacts) -> Iterator[Flag]:
    """The time since the last treatment of the very same regions: one flag for each earlier day."""
    by_day: dict[_Last, list[str]] = defaultdict(list)
    for region, last in _early_regions(facts).items():
        by_day[last].append(region)
    for last, regions in by_day.items():
        points = [point for point in facts.toxins if point.region in regions]
        labels = ", ".join(dict.fromkeys(point.region_label for point in points))
        yield Flag(
            "toxin-interval-region",
            FlagLevel.CAUTION,
            f"{labels}: toxin was last given there {last.told}, {_waited(facts, last)}.",
            WAIT_OR_NOTE,
            _interval_source(facts),
            tuple(point.number for point in points),
        )


def toxin_session_flags(facts: SessionFacts) -> Iterator[Flag]:
    """Units of one toxin in this session, where the clinic has set a figure."""
    most = facts.settings.toxin_session_centiunits
    if most is None:
        return
    given, labels = _given_today(facts)
    for key, total in given.items():
        if total > most:
            yield Flag(
                "toxin-session",
                FlagLevel.CAUTION,
                f"{labels[key]}: {_shown(total)} in this session, above {_shown(most)}.",
                "Check the label of this product and consider stopping here.",
                clinic_policy(f"at most {_shown(most)} of one toxin in a session"),
            )


def toxin_ceiling_flags(facts: SessionFacts) -> Iterator[Flag]:
    """
    Each toxin on its own, sizes of pack together. The published figure is for one preparation: it
    is not applied to another that is known, and is shown with its name for one that is not.
    """
    given, labels = _given_today(facts)
    for earlier in facts.toxin_last_3_months:
        key = toxin_named_in(earlier.substance) or earlier.product_key
        if key in labels:
            given[key] += earlier.centiunits
    ceiling = facts.settings.toxin_ceiling_centiunits
    is_published = ceiling == LABEL_CEILING_CENTIUNITS
    for key, total in given.items():
        is_other_toxin = isinstance(key, str) and toxin_named_in(key) not in (None, ONABOTULINUM)
        if total > ceiling and not (is_published and is_other_toxin):
            shown = _shown(ceiling)
            yield Flag(
                "toxin-ceiling",
                FlagLevel.CAUTION,
                f"{labels[key]}: {_shown(total)} in three months over all "
                f"indications, above {shown}.",
                "Ask about toxin given elsewhere and consider stopping here.",
                TOXIN_CEILING if is_published else clinic_policy(f"{shown} in three months"),
            )


def toxin_elsewhere_flags(facts: SessionFacts) -> Iterator[Flag]:
    """Toxin given elsewhere in the window of the ceiling: said, and never added."""
    within = [
        care
        for care in _toxin_elsewhere(facts)
        if facts.toxin_window_from is None
        or (care.when.last is not None and care.when.last >= facts.toxin_window_from)
    ]
    if facts.toxins and within:
        told = "; ".join(
            f"{'units not known' if care.centiunits is None else _shown(care.centiunits)} "
            f"{care.when}"
            for care in within
        )
        yield Flag(
            "toxin-elsewhere",
            FlagLevel.NOTE,
            f"Toxin elsewhere within three months, as the patient tells it: {told}. It was not "
            "added to the units given here.",
            "Ask which preparation it was; units of one are not those of another.",
            TOXIN_NOT_INTERCHANGEABLE,
        )


def _given_today(facts: SessionFacts) -> tuple[Counter[Hashable], dict[Hashable, str]]:
    """Units and label by toxin; a toxin not known by name goes by its product."""
    given: Counter[Hashable] = Counter()
    labels: dict[Hashable, str] = {}
    for point in facts.toxins:
        key = toxin_named_in(point.substance) or point.product_key
        given[key] += point.amount
        labels.setdefault(key, point.product_label)
    return given, labels


def _toxin_elsewhere(facts: SessionFacts) -> list[CareElsewhere]:
    return [care for care in facts.care if care.kind is CareKind.TOXIN and care.when.last]


def _told_by_patient(facts: SessionFacts, region: str | None = None) -> list[_Last]:
    """Toxin elsewhere, in one region or anywhere, as recently as it can have been."""
    return [
        _Last(
            care.when,
            min(care.when.last, facts.today),
            f"elsewhere {care.when}, as the patient tells it",
        )
        for care in _toxin_elsewhere(facts)
        if care.when.last and region in (None, care.region)
    ]


def _here(day: date) -> _Last:
    return _Last(PartialDay(day), day, f"on {day.isoformat()}")


def _last_anywhere(facts: SessionFacts) -> _Last | None:
    own = facts.last_toxin_date
    here = [_here(own)] if own else []
    return max([*_told_by_patient(facts), *here], key=lambda last: last.day, default=None)


def _early_regions(facts: SessionFacts) -> dict[str, _Last]:
    """Regions of today -> the last treatment there, where that is less than the interval ago."""
    found = {}
    for region in dict.fromkeys(point.region for point in facts.toxins):
        own = facts.last_toxin_by_region.get(region)
        here = [_here(own)] if own else []
        told = [*_told_by_patient(facts, region), *here]
        last = max(told, key=lambda each: each.day, default=None)
        if last is not None and _is_early(facts, last):
            found[region] = last
    return found


def _is_early(facts: SessionFacts, last: _Last) -> bool:
    return (facts.today - last.day).days < facts.settings.toxin_interval_days


def _waited(facts: SessionFacts, last: _Last) -> str:
    """ "89 days before; 90 days end on 2027-03-01"; "end by" where the day is not known."""
    days = facts.settings.toxin_interval_days
    ends = f"{last.day + timedelta(days=days)}"
    end = "end on" if last.when.precision is Precision.DAY else "end by"
    return f"{last.when.told_before(facts.today)}; {days} days {end} {ends}"


def _interval_source(facts: SessionFacts) -> Source:
    days = facts.settings.toxin_interval_days
    return TOXIN_INTERVAL if days == LABEL_INTERVAL_DAYS else clinic_policy(f"{days} days apart")


def _shown(centiunits: int) -> str:
    return format_amount(centiunits, Measure.DOSE)

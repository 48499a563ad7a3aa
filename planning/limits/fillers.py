"""Filler by year and by session, and what of another family lies in the region already."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from planning.amounts import format_amount
from planning.care import CareKind, FillerFamily
from planning.flags import (
    OFFERED_FILLER_UL_PER_60_KG_YEAR,
    Flag,
    FlagLevel,
    SessionFacts,
)
from planning.sources import FILLER_ON_FILLER, FILLER_YEARLY_VOLUME, NO_SOURCE, clinic_policy
from planning.vocabulary import Measure


def filler_year_flags(facts: SessionFacts) -> Iterator[Flag]:
    """Filler per body weight in the rolling year."""
    per_60_kg, today_ul = facts.settings.filler_ul_per_60_kg_year, _filler_ul(facts)
    if not today_ul:
        return
    if per_60_kg is None:
        offered = _shown(OFFERED_FILLER_UL_PER_60_KG_YEAR)
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
        own = clinic_policy(f"{_shown(per_60_kg)} per 60 kg and year")
        yield Flag(
            "filler-year",
            FlagLevel.CAUTION,
            f"Filler in the rolling year: {_shown(year_ul)}, above "
            f"{_shown(limit_ul)} for this weight.",
            "Check the label of this product and consider stopping here.",
            FILLER_YEARLY_VOLUME if is_offered else own,
        )


def filler_session_flags(facts: SessionFacts) -> Iterator[Flag]:
    """Filler in one session, where the clinic has set a figure."""
    most, today_ul = facts.settings.filler_session_ul, _filler_ul(facts)
    if most is not None and today_ul > most:
        yield Flag(
            "filler-session",
            FlagLevel.CAUTION,
            f"Filler in this session: {_shown(today_ul)}, above {_shown(most)}.",
            "Check the label of this product and consider a second session.",
            clinic_policy(f"at most {_shown(most)} of filler in a session"),
            tuple(point.number for point in facts.fillers),
        )


def other_family_flags(facts: SessionFacts) -> Iterator[Flag]:
    """
    Filler of another family, permanent or unknown, that lies in a region given filler today.

    One flag for each region and each thing found in it. Filler elsewhere whose region nobody knows
    is one note.
    """
    regions = dict.fromkeys((point.region, point.region_label) for point in facts.fillers)
    for region, label in regions:
        points = [point for point in facts.fillers if point.region == region]
        today = {FillerFamily.of(point.kind) for point in points}
        for found in _lying_in(facts, region):
            if found.family in today and len(today) == 1:
                continue
            permanent = found.family is FillerFamily.PERMANENT
            yield Flag(
                "filler-permanent" if permanent else "filler-family",
                FlagLevel.CAUTION if permanent else FlagLevel.QUESTION,
                f"{label}: {found.text}.",
                "Ask, look and feel; consider another region or no filler on top of it.",
                FILLER_ON_FILLER,
                tuple(point.number for point in points),
            )
    if regions and (somewhere := list(_lying_in(facts, ""))):
        yield Flag(
            "filler-somewhere",
            FlagLevel.NOTE,
            f"Region not recorded: {'; '.join(found.text for found in somewhere)}.",
            "Ask where it was given and record it.",
            NO_SOURCE,
        )


@dataclass(frozen=True, slots=True)
class _Lying:
    family: FillerFamily
    text: str


def _lying_in(facts: SessionFacts, region: str) -> Iterator[_Lying]:
    for earlier in facts.earlier_fillers:
        if earlier.region == region:
            given = f"{earlier.product_label} was given here on {earlier.on.isoformat()}"
            yield _Lying(earlier.family, given)
    for care in facts.care:
        if care.kind is CareKind.FILLER and care.region == region:
            what = {
                FillerFamily.HA: "hyaluronic acid filler",
                FillerFamily.OTHER: "filler other than hyaluronic acid",
                FillerFamily.PERMANENT: "permanent filler",
                FillerFamily.UNKNOWN: "filler of a kind not known",
            }[care.family]
            yield _Lying(care.family, f"{what} elsewhere {care.when}, as the patient tells it")


def _filler_ul(facts: SessionFacts) -> int:
    """Filler of this session, microlitres."""
    return sum(point.amount for point in facts.fillers)


def _shown(amount_ul: int) -> str:
    return format_amount(amount_ul, Measure.VOLUME)

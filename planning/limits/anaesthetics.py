"""Lidocaine of every source in a session against the limit of the label."""

from __future__ import annotations

from collections.abc import Iterator

from planning.flags import Flag, FlagLevel, SessionFacts
from planning.lidocaine import (
    cap_ug,
    format_mg,
    has_epinephrine_throughout,
    limit_by_weight_ug,
    total_ug,
)
from planning.sources import LIDOCAINE_ALL_SOURCES


def lidocaine_flags(facts: SessionFacts) -> Iterator[Flag]:
    """All sources against the limit by weight, or against the cap while the weight is missing."""
    sources, limits = facts.lidocaine_sources, facts.settings.lidocaine
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

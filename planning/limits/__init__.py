"""
The flags of a session: what the clinic's figures, a published limit or plain sense asks about.

Limits are cautions to show, never rules that block; the label of the product in hand always wins.
`session_flags` is the one entry point. Figures and their sources: `sources`, `reference_ranges`.
"""

from __future__ import annotations

from planning.flags import Flag, FlagLevel, SessionFacts
from planning.limits.anaesthetics import lidocaine_flags
from planning.limits.elsewhere import care_date_flags, care_wait_flags
from planning.limits.entries import confirmed_flags, plane_flags, slip_flags
from planning.limits.fillers import filler_session_flags, filler_year_flags, other_family_flags
from planning.limits.people import age_flags, weight_flags
from planning.limits.regions import label_total_flags, region_flags, uncovered_flags
from planning.limits.sides import side_flags
from planning.limits.toxins import (
    toxin_ceiling_flags,
    toxin_elsewhere_flags,
    toxin_interval_flags,
    toxin_region_interval_flags,
    toxin_session_flags,
)

CHECKS = (
    age_flags,
    weight_flags,
    filler_year_flags,
    filler_session_flags,
    other_family_flags,
    toxin_interval_flags,
    toxin_region_interval_flags,
    toxin_session_flags,
    toxin_ceiling_flags,
    toxin_elsewhere_flags,
    lidocaine_flags,
    care_wait_flags,
    care_date_flags,
    slip_flags,
    confirmed_flags,
    plane_flags,
    region_flags,
    side_flags,
    label_total_flags,
    uncovered_flags,
)


def session_flags(facts: SessionFacts) -> tuple[Flag, ...]:
    """
    Every flag of the session, most pressing first; none for a session in which nothing was given.

    Each check stands alone, and one that lacks what it needs (age, weight, a setting) says so
    instead of computing.
    """
    if not facts.points and not facts.other_lidocaine:
        return ()
    found = [flag for check in CHECKS for flag in check(facts)]
    order = list(FlagLevel)
    return tuple(sorted(found, key=lambda flag: order.index(flag.level)))

"""Whether an adverse event counts as early or as delayed."""

from __future__ import annotations

from planning.sources import Confidence, Source
from planning.vocabulary import Term

EARLY_DAYS = 28
DELAYED_EVENTS = Source(
    "Philipp-Dormston et al., Plast Reconstr Surg Glob Open 2020;8:e2730, panel",
    "delayed: more than 4 weeks after treatment, here day 29 and later; other texts say 14 or "
    "30 days",
    Confidence.PUBLISHED,
)


class Timing(Term):
    EARLY = "early", "Early"
    DELAYED = "delayed", "Delayed"


def timing_of(days: int) -> Timing:
    """
    Args:
        days: whole days from the treatment to the first signs; 0 is the same day.

    Raises:
        ValueError: the signs came before the treatment.

    Source: `DELAYED_EVENTS`.
    """
    if days < 0:
        raise ValueError(f"Signs {-days} days before the treatment are no event of it.")
    return Timing.EARLY if days <= EARLY_DAYS else Timing.DELAYED

"""Age and weight: limits of their own, and what cannot be checked without them."""

from __future__ import annotations

from collections.abc import Iterator

from planning.flags import Flag, FlagLevel, SessionFacts
from planning.lidocaine import total_ug
from planning.sources import FILLER_AGE, NO_SOURCE, clinic_policy

FILLER_ADULT_YEARS = 22


def age_flags(facts: SessionFacts) -> Iterator[Flag]:
    """Below the clinic's own age, or that of the approved use of fillers."""
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
    fillers = tuple(point.number for point in facts.fillers)
    if fillers and age < FILLER_ADULT_YEARS:
        yield Flag(
            "age-filler",
            FlagLevel.CAUTION,
            f"The patient is {age}; fillers are approved from {FILLER_ADULT_YEARS} years.",
            "Check the label of this product and note why it is given.",
            FILLER_AGE,
            fillers,
        )


def weight_flags(facts: SessionFacts) -> Iterator[Flag]:
    """A weight that a limit needs and nobody recorded."""
    needs = []
    if facts.settings.filler_ul_per_60_kg_year is not None and facts.fillers:
        needs.append("the yearly filler volume")
    if total_ug(facts.lidocaine_sources):
        needs.append("lidocaine per kilogram")
    if facts.weight_g is None and needs:
        verb = "was" if len(needs) == 1 else "were"
        yield Flag(
            "weight-missing",
            FlagLevel.NOTE,
            f"The weight is not recorded, so {' and '.join(needs)} {verb} not checked.",
            "Ask for the weight and record it.",
            NO_SOURCE,
        )

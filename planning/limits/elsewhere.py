"""Days since procedures, vaccines and dental work elsewhere, by the clinic's own figures."""

from __future__ import annotations

from collections.abc import Iterator

from planning.care import CareElsewhere, CareKind
from planning.flags import Flag, FlagLevel, SessionFacts
from planning.sources import NO_SOURCE, clinic_policy

WAITED_FOR = (CareKind.VACCINE, CareKind.DENTAL, CareKind.SKIN, CareKind.SURGERY)
RECENT_DAYS = 90
"""A kind without a figure is named if it was so recent. Common practice, no source."""


def care_wait_flags(facts: SessionFacts) -> Iterator[Flag]:
    """The latest of each kind, if the clinic waits longer or has set no figure for it."""
    unset: list[str] = []
    for kind in WAITED_FOR:
        latest = _latest(facts, kind)
        if latest is None:
            continue
        days, since = facts.settings.wait_days.get(kind), latest.when.days_before(facts.today)
        if since is None:
            continue
        if days is None:
            if since < RECENT_DAYS:
                unset.append(f"{kind.label.lower()} {latest.when}")
        elif since < days:
            yield Flag(
                f"wait-{kind.value}",
                FlagLevel.CAUTION,
                f"{kind.label} {latest.when}, {latest.when.told_before(facts.today)}; the clinic "
                f"waits {days}.",
                "Consider waiting, or note why it is given earlier.",
                clinic_policy(f"{days} days after: {kind.label.lower()}"),
            )
    if unset:
        yield Flag(
            "wait-unset",
            FlagLevel.NOTE,
            f"The clinic has set no days to wait, so none were checked: {', '.join(unset)}.",
            "Judge by yourself; the practice owner may set the days under Policy.",
            NO_SOURCE,
        )


def care_date_flags(facts: SessionFacts) -> Iterator[Flag]:
    """What was reported without a date cannot be held against any interval."""
    needs = [kind for kind in WAITED_FOR if kind in facts.settings.wait_days]
    if facts.toxins:
        needs.append(CareKind.TOXIN)
    undated = [care.kind.label for care in facts.care if care.when.last is None]
    kinds = [kind.label.lower() for kind in needs if kind.label in undated]
    if kinds:
        yield Flag(
            "care-date-missing",
            FlagLevel.NOTE,
            f"The date is not recorded, so the days since were not checked: {', '.join(kinds)}.",
            "Ask when it was; the month or the year is of use.",
            NO_SOURCE,
        )


def _latest(facts: SessionFacts, kind: CareKind) -> CareElsewhere | None:
    """The one that can have been last; one without a date only if there is no other."""
    of_kind = [care for care in facts.care if care.kind is kind]
    dated = [(care.when.last, index) for index, care in enumerate(of_kind) if care.when.last]
    return of_kind[max(dated)[1]] if dated else next(iter(of_kind), None)

"""The clinic's rules as one book: what they ask for after a treatment."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy, open_days, review_rule
from clinic.review_rules.models import EffectDuration, ReviewRule
from planning.atlas.region_groups import RegionGroup
from planning.durations import TypicalDuration
from planning.review_dates import OpenDays, review_date
from planning.review_rules import (
    Asked,
    Given,
    ReviewEvent,
    RuleChoice,
    Visit,
    asking,
    most_specific,
    visits,
)
from planning.sources import Confidence
from planning.vocabulary import ProductKind

TOLD_APART = (ReviewEvent.FIRST, ReviewEvent.LATER, ReviewEvent.TOP_UP)
GENERAL = f"({Confidence.CLINIC_POLICY.words})"


@dataclass(frozen=True, slots=True)
class RuleBook:
    """
    All rules and open days, read once.

    Attributes:
        rules: those out of use too, by id: a review of before still counts by its own.
        days: from the first day asked about on.
    """

    policy: ClinicPolicy
    rules: Mapping[int, ReviewRule]
    days: OpenDays

    @property
    def choices(self) -> tuple[RuleChoice, ...]:
        return tuple(rule.choice for rule in self.rules.values() if rule.is_active)

    @property
    def tells_events_apart(self) -> bool:
        """Whether a rule in use asks if a treatment was a first one, a later one or a top-up."""
        return any(rule.event in TOLD_APART for rule in self.choices)

    def keys_after(
        self, given: Iterable[Given], events: Mapping[ProductKind, ReviewEvent]
    ) -> set[int | None]:
        """The different rules that a treatment chooses; None is the policy's general one."""
        choices = self.choices
        chosen = (
            most_specific(choices, events[one.kind], kind=one.kind, group=one.group)
            for one in asking(given)
        )
        return {rule.key if rule else None for rule in chosen}

    def key_after_event(
        self, kinds: Collection[ProductKind], group: RegionGroup | None
    ) -> int | None:
        """The most specific rule for an adverse event after any of these kinds, if there is one."""
        found = (
            most_specific(self.choices, ReviewEvent.ADVERSE_EVENT, kind=kind, group=group)
            for kind in (*kinds, None)
        )
        best = min((rule for rule in found if rule), key=lambda rule: rule.rank, default=None)
        return best.key if best else None

    def visits(
        self, keys: Iterable[int | None], on: date, *, since: str = "the session"
    ) -> list[Visit]:
        """
        The visits at which these rules' reviews of a treatment on `on` take place.

        Raises:
            planning.review_dates.ReviewDateError: no open day within a year.
        """
        return visits([self._asked(key, on, since) for key in keys], self.days.is_open)

    def _asked(self, key: int | None, on: date, since: str) -> Asked:
        rule = self.rules[key] if key is not None else None
        dates = review_date(
            on,
            rule.dates if rule else review_rule(self.policy),
            self.days.is_open,
            why_closed=self.days.why_closed,
            since=since,
        )
        if rule is None:
            return Asked(key, dates, f"{dates.reason} {GENERAL}")
        words = f"{rule.label}: {dates.reason} ({rule.source_text})"
        return Asked(key, dates, words, rule.label)


def rule_book(*, on_or_after: date, policy: ClinicPolicy | None = None) -> RuleBook:
    """The rules as they are now, for treatments on that day or later: two queries."""
    policy = policy or current_policy()
    rules = {rule.pk: rule for rule in ReviewRule.objects.all()}
    return RuleBook(policy, rules, open_days(policy, on_or_after=on_or_after))


def known_durations() -> list[TypicalDuration]:
    """What the clinic filled in."""
    return [row.typical for row in EffectDuration.objects.all()]

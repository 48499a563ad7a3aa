"""Writes to the rules. Each act is one transaction with its audit event."""

from django.core.exceptions import ValidationError

from clinic.audit.services import acting, changes, snapshot
from clinic.review_rules.errors import DurationTaken, RuleTaken
from clinic.review_rules.models import EffectDuration, ReviewRule

RULE_FIELDS = [
    "label", "kind", "group", "event", "count", "unit", "early_days", "late_days", "rolling",
    "is_active", "backing", "source",
]  # fmt: skip
DURATION_FIELDS = ["kind", "group", "least_months", "most_months", "backing", "source"]


def save_rule(*, rule: ReviewRule, actor) -> ReviewRule:
    """
    Add or change a rule, or take it out of use. Reviews that are open keep their dates.

    Raises:
        RuleTaken: another rule in use is for the same.
    """
    with acting(actor) as trail:
        stored = ReviewRule.objects.select_for_update().filter(pk=rule.pk).first()
        before = snapshot(stored, RULE_FIELDS) if stored else {}
        _refuse_twice(rule, RuleTaken)
        rule.save()
        before, after = changes(before, snapshot(rule, RULE_FIELDS))
        if after:
            trail.add("review_rule.saved", rule, before=before, after=after)
    return rule


def save_duration(*, duration: EffectDuration, actor) -> EffectDuration:
    """
    Add or change how long an effect lasts.

    Raises:
        DurationTaken: there is a range for the same.
    """
    with acting(actor) as trail:
        stored = EffectDuration.objects.select_for_update().filter(pk=duration.pk).first()
        before = snapshot(stored, DURATION_FIELDS) if stored else {}
        _refuse_twice(duration, DurationTaken)
        duration.save()
        before, after = changes(before, snapshot(duration, DURATION_FIELDS))
        if after:
            trail.add("effect_duration.saved", duration, before=before, after=after)
    return duration


def remove_duration(*, duration: EffectDuration, actor) -> None:
    """The timeline goes back to what is published, or to nothing; the trail keeps the range."""
    with acting(actor) as trail:
        trail.add("effect_duration.removed", duration, before=snapshot(duration, DURATION_FIELDS))
        duration.delete()


def _refuse_twice(row: ReviewRule | EffectDuration, error: type[Exception]) -> None:
    try:
        row.validate_constraints()
    except ValidationError as problem:
        raise error(" ".join(problem.messages)) from problem

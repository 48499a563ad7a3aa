"""Writes to the rules. Each act is one transaction with its audit event."""

from collections.abc import Sequence

from django.core.exceptions import ValidationError
from django.db import IntegrityError

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
    _save(rule, RULE_FIELDS, "review_rule.saved", RuleTaken, actor)
    return rule


def save_duration(*, duration: EffectDuration, actor) -> EffectDuration:
    """
    Add or change how long an effect lasts.

    Raises:
        DurationTaken: there is a range for the same.
    """
    _save(duration, DURATION_FIELDS, "effect_duration.saved", DurationTaken, actor)
    return duration


def remove_duration(*, duration: EffectDuration, actor) -> None:
    """The timeline goes back to what is published, or to nothing; the trail keeps the range."""
    with acting(actor) as trail:
        trail.add("effect_duration.removed", duration, before=snapshot(duration, DURATION_FIELDS))
        duration.delete()


def _save(
    row: ReviewRule | EffectDuration,
    fields: Sequence[str],
    action: str,
    taken: type[Exception],
    actor,
) -> None:
    try:
        with acting(actor) as trail:
            stored = type(row).objects.select_for_update().filter(pk=row.pk).first()
            before = snapshot(stored, fields) if stored else {}
            _refuse_twice(row, taken)
            row.save()
            before, after = changes(before, snapshot(row, fields))
            if after:
                trail.add(action, row, before=before, after=after)
    except IntegrityError:
        # Somebody else was faster, which the check before could not see.
        _refuse_twice(row, taken)
        raise


def _refuse_twice(row: ReviewRule | EffectDuration, error: type[Exception]) -> None:
    try:
        row.validate_constraints()
    except ValidationError as problem:
        raise error(" ".join(problem.messages)) from problem

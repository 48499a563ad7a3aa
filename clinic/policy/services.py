"""Writes to the clinic's policy. Each act is one transaction with its audit event."""

from django.core.exceptions import ValidationError

from clinic.audit.services import acting, changes, snapshot
from clinic.policy.errors import PolicyError
from clinic.policy.models import ClinicPolicy, Closure
from clinic.policy.validators import AMOUNT_FIELDS, validate_open_weekdays
from planning.amounts import format_amount
from planning.review_dates import day_in_words

POLICY_FIELDS = [
    "name", "address", "phone", "email", "emergency_contact", "open_weekdays", "review_count",
    "review_unit", "review_lead_days", "review_grace_days", "top_up_days", "contact_tries",
    "history_months",
    "holiday_country",
    "holiday_part", "expiry_warning_days",
    "expiry_urgent_days", "reorder_weeks", "reorder_spare_days", "reading_hours",
    "minimum_age_years", "top_up_wait_days", "cooling_off_days", "cooling_off_may_be_waived",
    "toxin_interval_days", "toxin_ceiling_centiunits",
    "filler_ul_per_60_kg_year", "filler_session_ul", "toxin_session_centiunits",
    "side_difference_percent", "wait_vaccine_days", "wait_dental_days", "wait_skin_days",
    "wait_surgery_days", "plan_preference", "one_plane_a_unit", "currency", "tablet_lock_minutes",
    "asks_time_out", "access_records_an_hour", "access_reason_days", "access_margin_minutes",
    "access_from", "access_until", "head_addresses",
]  # fmt: skip
CLOSURE_FIELDS = ["starts_on", "ends_on", "reason"]
LONGEST_CLOSURE_DAYS = 366


def save_policy(*, policy: ClinicPolicy, actor) -> ClinicPolicy:
    """
    Store the one row of settings. An event is written only for what differs.

    Raises:
        PolicyError: no open weekday, so that no review could fall on an open day.
    """
    try:
        validate_open_weekdays(policy.open_weekdays)
    except ValidationError as error:
        raise PolicyError(error.messages[0]) from error
    with acting(actor) as trail:
        stored = ClinicPolicy.objects.select_for_update().filter(pk=1).first()
        before = _in_words(stored) if stored else {}
        policy.pk = 1
        policy.save()
        before, after = changes(before, _in_words(policy))
        if after:
            trail.add("policy.changed", policy, before=before, after=after)
    return policy


def _in_words(policy: ClinicPolicy) -> dict:
    """For the trail: amounts as they are read, so that a row explains itself."""
    words = snapshot(policy, POLICY_FIELDS)
    for name, measure in AMOUNT_FIELDS.items():
        amount = words[name]
        words[name] = amount and format_amount(amount, measure)
    return words


def add_closure(*, closure: Closure, actor) -> Closure:
    """
    Close the clinic on some days.

    Raises:
        PolicyError: longer than a year, beyond which no open day is looked for, or on days that a
            closure has already.
    """
    with acting(actor) as trail:
        _check_closure(closure)
        closure.save()
        trail.add("closure.added", closure, after=snapshot(closure, CLOSURE_FIELDS))
    return closure


def change_closure(*, closure: Closure, actor) -> Closure:
    """
    Change days or reason of a closure.

    Raises:
        PolicyError: as for `add_closure`.
    """
    with acting(actor) as trail:
        stored = Closure.objects.select_for_update().get(pk=closure.pk)
        _check_closure(closure)
        closure.save()
        before, after = changes(snapshot(stored, CLOSURE_FIELDS), snapshot(closure, CLOSURE_FIELDS))
        if after:
            trail.add("closure.changed", closure, before=before, after=after)
    return closure


def _check_closure(closure: Closure) -> None:
    if (closure.ends_on - closure.starts_on).days >= LONGEST_CLOSURE_DAYS:
        raise PolicyError("A closure lasts at most a year. Check the year of the last day.")
    others = Closure.objects.exclude(pk=closure.pk)
    other = others.filter(starts_on__lte=closure.ends_on, ends_on__gte=closure.starts_on).first()
    if other is not None:
        raise PolicyError(
            f"The clinic is closed then already: {day_in_words(other.starts_on)} to "
            f"{day_in_words(other.ends_on)} ({other.reason}). Change that closure, or choose other "
            "days."
        )


def remove_closure(*, closure: Closure, actor) -> None:
    """Open the clinic again on these days; the audit trail keeps what was removed."""
    with acting(actor) as trail:
        trail.add("closure.removed", closure, before=snapshot(closure, CLOSURE_FIELDS))
        closure.delete()

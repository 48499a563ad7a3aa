"""
Looking through the trail for what the owner should be asked about.

Each hour and each day is looked at once, when it is over. Looking again, or from two workers at
once, finds nothing twice: who is later finds the one row moved on, and findings have keys.
"""

from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from clinic.database.moments import moment_at
from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from planning.unusual_access import (
    HOUR,
    Finding,
    Question,
    many_in_an_hour,
    outside_hours,
    relations,
    without_reason,
)
from records.record_access.models import AccessFinding, AccessLook
from records.record_access.queries.accesses import looks_between
from records.record_access.queries.facts import known_of, with_reason_near, work_of

# What began within an hour may still be stored a little after it.
SETTLED_AFTER = timedelta(minutes=10)
# A worker that was away for long catches up a few days at each look.
MOST_AT_ONCE = timedelta(days=3)


def look(now: datetime | None = None) -> int:
    """
    Look at the hours and days that are over and were not looked at; returns how many were found.

    The first look of a clinic begins with the day before: what is older, nobody remembers. Reading
    takes no lock, so that nobody waits for it.
    """
    now = now or timezone.now()
    over = (now - SETTLED_AFTER).replace(minute=0, second=0, microsecond=0)
    seen = AccessLook.objects.filter(pk=1).first() or _first_look(over)
    if seen.hours_until >= over:
        return 0
    policy = current_policy()
    hours_until = min(over, seen.hours_until + MOST_AT_ONCE)
    found, day = _hours(seen.hours_until, hours_until, policy), seen.days_until
    while moment_at(day + timedelta(days=1)) <= hours_until:
        found += _day(day, policy)
        day += timedelta(days=1)
    with transaction.atomic():
        stored = AccessLook.objects.select_for_update().get(pk=1)
        if stored.hours_until != seen.hours_until:
            return 0  # another worker was quicker
        stored.hours_until, stored.days_until = hours_until, day
        stored.save()
        return _keep(found, now)


def _first_look(over: datetime) -> AccessLook:
    yesterday = timezone.localdate(over) - timedelta(days=1)
    first, _ = AccessLook.objects.get_or_create(
        pk=1, defaults={"hours_until": moment_at(yesterday), "days_until": yesterday}
    )
    return first


def _hours(start: datetime, end: datetime, policy: ClinicPolicy) -> list[Finding]:
    """What is asked as soon as the hour is over: many records, one's own, a colleague's."""
    accesses = looks_between(start - HOUR, end)
    latest = AccessFinding.objects.filter(question=Question.MANY)
    asked_up_to = dict(
        latest.filter(person__in={one.person for one in accesses})
        .order_by()
        .values_list("person_id")
        .annotate(last=Max("last_entry"))
    )
    many = many_in_an_hour(
        accesses, policy.access_records_an_hour, until=end, asked_up_to=asked_up_to
    )
    new = [one for one in accesses if one.at >= start]
    return [*many, *relations(new, known_of(new, policy.access_reason_days))]


def _day(day: date, policy: ClinicPolicy) -> list[Finding]:
    """
    What is asked when the day is over: whoever is called, and booked after the record was opened,
    has a reason by then.
    """
    accesses = looks_between(moment_at(day), moment_at(day + timedelta(days=1)))
    if not accesses:
        return []
    margin = timedelta(minutes=policy.access_margin_minutes)
    days = policy.access_reason_days
    work = work_of({one.person for one in accesses}, day, policy)
    reasons = with_reason_near({one.patient for one in accesses}, day, days)
    related = relations(accesses, known_of(accesses, days))
    asked = {(one.person, one.patient) for one in related if one.patient is not None}
    return [
        *outside_hours(accesses, work, margin),
        *without_reason(accesses, reasons, days, asked=asked),
    ]


def _keep(found: list[Finding], now: datetime) -> int:
    """New ones alone: a key that is there was found before, and perhaps answered."""
    keys = [one.key for one in found]
    known = set(AccessFinding.objects.filter(key__in=keys).values_list("key", flat=True))
    new = {one.key: one for one in found if one.key not in known}
    AccessFinding.objects.bulk_create(_row(one, now) for one in new.values())
    return len(new)


def _row(found: Finding, now: datetime) -> AccessFinding:
    return AccessFinding(
        question=found.question,
        person_id=found.person,
        patient_id=found.patient,
        day=found.day,
        key=found.key,
        reason=found.reason,
        count=found.count,
        entries=found.entries,
        records=list(found.records),
        first_entry=found.first,
        last_entry=found.last,
        begins_at=found.begins,
        ends_at=found.ends,
        found_at=now,
    )


def tick() -> None:
    """What the worker does at each tick; there is something to do once an hour."""
    look()

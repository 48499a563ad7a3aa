"""Who opened, changed, printed, exported or sent what of a patient's record, from the trail."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import reduce
from operator import or_

from django.db.models import Count, Max, Min, Q, QuerySet
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.audit.queries import events_shown, of_kind
from clinic.staff.models import User
from planning.act_kinds import ActKind
from planning.unusual_access import Access

# Noted for many patients at one touch, or for a line of a page that the person did not choose: the
# tablet that fetches its day, printed lists, the start page, and these pages themselves.
IN_PASSING = (
    "read.day", "read.alerts", "read.access", "follow_up.printed", "appointment.printed",
    "access.printed", "access.exported",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Reader:
    """One person's part in a record; None for what commands did."""

    person: User | None
    entries: int
    first_at: datetime
    last_at: datetime


def readers_of(patient_id: int) -> list[Reader]:
    """Everybody who had to do with a record, whoever did last first: two queries."""
    rows = (
        AuditEvent.objects.filter(patient_id=patient_id)
        .order_by()
        .values("actor_id")
        .annotate(entries=Count("id"), first=Min("at"), last=Max("at"))
    )
    latest = sorted(rows, key=lambda row: row["last"], reverse=True)
    people = User.objects.in_bulk([row["actor_id"] for row in latest if row["actor_id"]])
    return [
        Reader(people.get(row["actor_id"]), row["entries"], row["first"], row["last"])
        for row in latest
    ]


def of_records(**wanted) -> QuerySet[AuditEvent]:
    """What a person did with patients' records, newest first; arguments as `events_shown` takes."""
    return events_shown(**wanted).filter(patient_id__isnull=False)


def looks_between(start: datetime, end: datetime) -> list[Access]:
    """Each time that somebody opened, printed or exported something of a record: one query."""
    seen = (ActKind.OPENED, ActKind.PRINTED, ActKind.EXPORTED)
    events = (
        AuditEvent.objects.filter(
            reduce(or_, map(of_kind, seen)),
            at__gte=start,
            at__lt=end,
            actor__isnull=False,
            patient_id__isnull=False,
        )
        .exclude(action__in=IN_PASSING)
        .order_by("at")
    )
    rows = events.values_list("id", "at", "actor_id", "patient_id")
    return [
        Access(position, timezone.localtime(at), actor, patient)
        for position, at, actor, patient in rows.iterator()
        if actor and patient
    ]


def records_opened(person_id: int, now: datetime) -> list[tuple[str, int]]:
    """How many different records a person opened: (label, number)."""
    spans = [("in the last 24 hours", 1), ("in the last 7 days", 7), ("in the last 30 days", 30)]
    counted = {
        f"in_{days}": Count(
            "patient_id", filter=Q(at__gte=now - timedelta(days=days)), distinct=True
        )
        for _, days in spans
    }
    found = AuditEvent.objects.filter(
        actor_id=person_id, patient_id__isnull=False, at__gte=now - timedelta(days=30)
    ).aggregate(**counted)
    return [(label, found[f"in_{days}"]) for label, days in spans]

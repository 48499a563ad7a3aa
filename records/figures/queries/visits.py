"""What became of the visits of the chosen days, of those before, and month by month."""

from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import date, datetime

from django.db.models import Count, F, OuterRef, QuerySet, Subquery, Sum
from django.db.models.fields import CharField
from django.db.models.functions import Cast, Coalesce
from django.utils import timezone

from clinic.audit.models import AuditEvent
from planning.desk_figures import VisitCounts, is_late
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.figures.enums import GroupBy
from records.figures.queries.asked import NEITHER, Asked, Bucket
from records.figures.queries.working_time import worked

Key = int | str | None
"""Id of a practitioner, site or room, or the kind; None for visits without one."""

_KEYS = {
    GroupBy.PRACTITIONER: F("practitioner_id"),
    GroupBy.KIND: F("kind"),
    GroupBy.SITE: Coalesce("room__site_id", "site_id"),
    GroupBy.ROOM: F("room_id"),
}
# Acts of the trail.
CANCELLED, RELEASED = "appointment.cancelled", "appointment.released"
_CAME = (AppointmentState.ARRIVED, AppointmentState.IN_ROOM, AppointmentState.DONE)


class VisitFigures:
    """
    Attributes:
        of: counts of each key in each of the two windows.
        months: counts of all, by the first day of the month.
    """

    def __init__(self) -> None:
        self.of: dict[tuple[Key, Bucket], VisitCounts] = defaultdict(VisitCounts)
        self.months: dict[date, VisitCounts] = defaultdict(VisitCounts)

    @property
    def keys(self) -> set[Key]:
        return {key for key, _ in self.of}

    def total(self, window: Bucket) -> VisitCounts:
        counts = (one for (_, bucket), one in self.of.items() if bucket == window)
        return sum(counts, VisitCounts())

    def add(self, key: Key, bucket: Bucket, counts: VisitCounts) -> None:
        if isinstance(bucket, date):
            self.months[bucket] += counts
        else:
            self.of[key, bucket] += counts


def visit_figures(asked: Asked, now: datetime) -> VisitFigures:
    """Counts of everything that has begun by `now`, in a constant number of queries."""
    figures = VisitFigures()
    begun = Appointment.objects.filter(**asked.within("starts_at", until=now))
    if asked.person_id:
        begun = begun.filter(practitioner=asked.person_id)
    _add_groups(figures, asked, begun)
    for key, day, counts in _cancelled(asked, begun):
        for bucket in asked.buckets[day]:
            figures.add(key, bucket, counts)
    _add_hours(figures, asked, now)
    return figures


def _add_groups(figures: VisitFigures, asked: Asked, begun: QuerySet) -> None:
    """All but cancelled ones and offers that nobody answered, added up by the database."""
    apart = [AppointmentState.CANCELLED, AppointmentState.OFFERED]
    kept = begun.exclude(state__in=apart).order_by()
    sums = {"visits": Count("pk"), "taken": Sum("minutes")}
    in_windows = kept.annotate(key=_KEYS[asked.by], window=asked.window_of("starts_at"))
    for key, window, state, visits, minutes in (
        in_windows.exclude(window=NEITHER)
        .values("key", "window", "state")
        .annotate(**sums)
        .values_list("key", "window", "state", "visits", "taken")
    ):
        figures.add(key, window, _counts(state, visits, minutes))
    in_months = kept.annotate(number=asked.month_of("starts_at"))
    for number, state, visits, minutes in (
        in_months.filter(number__gte=0)
        .values("number", "state")
        .annotate(**sums)
        .values_list("number", "state", "visits", "taken")
    ):
        figures.add(None, asked.months[number].first, _counts(state, visits, minutes))


def _counts(state: str, visits: int, minutes: int) -> VisitCounts:
    if state in _CAME:
        return VisitCounts(took_place=visits, minutes=minutes)
    if state == AppointmentState.DID_NOT_ATTEND:
        return VisitCounts(did_not_attend=visits)
    return VisitCounts(unmarked=visits)


def _cancelled(asked: Asked, begun: QuerySet) -> Iterator[tuple[Key, date, VisitCounts]]:
    """
    One by one, by the moment that the trail has. What was offered and given back was never a visit.
    """
    zone = timezone.get_current_timezone()
    told = AuditEvent.objects.filter(
        subject_type="appointment",
        subject_id=Cast(OuterRef("pk"), CharField()),
        action__in=[CANCELLED, RELEASED],
    ).order_by("-id")
    rows = begun.filter(state=AppointmentState.CANCELLED).order_by().annotate(
        key=_KEYS[asked.by],
        ended_by=Subquery(told.values("action")[:1]),
        ended_at=Subquery(told.values("at")[:1]),
    )  # fmt: skip
    for key, starts_at, ended_by, ended_at in rows.values_list(
        "key", "starts_at", "ended_by", "ended_at"
    ):
        if ended_by == RELEASED:
            continue
        late = is_late(ended_at, starts_at)
        counts = VisitCounts(cancelled_late=1) if late else VisitCounts(cancelled_early=1)
        yield key, starts_at.astimezone(zone).date(), counts


def _add_hours(figures: VisitFigures, asked: Asked, now: datetime) -> None:
    minutes: Counter[tuple[Key, Bucket]] = Counter()
    for span in worked(asked, now):
        keys = {GroupBy.PRACTITIONER: span.person_id, GroupBy.SITE: span.site_id or None}
        for bucket in asked.buckets[span.day]:
            minutes[keys.get(asked.by), bucket] += span.minutes
    for (key, bucket), count in minutes.items():
        figures.add(key, bucket, VisitCounts(working_minutes=count))

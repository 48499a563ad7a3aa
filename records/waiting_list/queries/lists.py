"""What the pages of the waiting list show."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta

from django.db.models import Count, Q
from django.utils import timezone

from clinic.visit_kinds.enums import AppointmentKind
from clinic.visit_kinds.queries import visit_kind
from planning.waiting import DayPart
from records.appointments.queries.slots import FURTHEST_DAYS, Fit, Wanted, days_that_fit
from records.waiting_list.enums import Answer
from records.waiting_list.models import Offer, WaitingEntry, WaitingEntryQuerySet

_SHOWN = (
    "patient__full_name", "patient__phone", "kind", "minutes", "practitioner__full_name",
    "site__name", "first_on", "last_on", "weekdays", "part", "notice_hours", "is_urgent",
    "urgent_reason", "urgent_by__full_name", "note", "added_at",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Row:
    """One who waits, with the offer that is open."""

    entry: WaitingEntry
    offer: Offer | None


def standing_entries(*, kind: str = "", practitioner=None) -> WaitingEntryQuerySet:
    """
    Who waits, in order, with what the list shows; `untaken` counts the offers they did not take.

    Args:
        practitioner: those who wait for this person, or for anybody.
    """
    entries = WaitingEntry.objects.standing()
    if kind:
        entries = entries.filter(kind=kind)
    if practitioner is not None:
        entries = entries.filter(Q(practitioner=practitioner) | Q(practitioner__isnull=True))
    not_taken = Q(offers__answer__in=[answer for answer in Answer if answer.leads_on])
    shown = entries.with_people().only(*_SHOWN).in_order()
    return shown.annotate(untaken=Count("offers", filter=not_taken))


def rows(entries: Iterable[WaitingEntry]) -> list[Row]:
    """The entries with their open offers: one query more."""
    shown = list(entries)
    offers = Offer.objects.open().filter(entry__in=shown).select_related("appointment")
    by_entry = {offer.entry_id: offer for offer in offers}
    return [Row(entry, by_entry.get(entry.pk)) for entry in shown]


def open_offers() -> Sequence[Offer]:
    """Those that wait for an answer, the first to end first."""
    return Offer.objects.open().with_people().order_by("appointment__held_until", "id")


def next_fit(entry: WaitingEntry) -> Fit | None:
    """The next time in the diary that suits somebody who waits."""
    today = timezone.localdate()
    furthest = today + timedelta(days=FURTHEST_DAYS)
    first = max(entry.first_on, today)
    wanted = Wanted(
        kind=visit_kind(AppointmentKind(entry.kind)),
        first=first,
        last=min(entry.last_on or furthest, max(furthest, first)),
        minutes=entry.minutes,
        patient=entry.patient,
        only=entry.practitioner,
    )
    soonest = timezone.now() + timedelta(hours=entry.notice_hours)
    part = DayPart(entry.part)
    for day, fits in days_that_fit(wanted):
        if day.isoweekday() not in entry.weekdays:
            continue
        for fit in fits:
            at_site = entry.site_id is None or fit.room is None or fit.room.site_id == entry.site_id
            starts = timezone.localtime(fit.starts_at).time()
            if at_site and part.holds(starts) and fit.starts_at >= soonest:
                return fit
    return None

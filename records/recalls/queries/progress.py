"""Where cases stand: how many were reached, and the figures that a regulator asks for."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Count, F, Max, Min, Q
from django.utils import timezone

from clinic.stock.enums import MovementKind, UnitState
from planning.recall_checks import Figure
from planning.recall_clock import Lap, stopwatch
from records.patients.enums import Channel
from records.recalls.enums import ContactOutcome
from records.recalls.models import CaseContact, CasePatient, CaseUnit, RecallCase
from records.recalls.queries.checks import check_standing
from records.recalls.queries.extent import Extent
from records.recalls.queries.people import REACHING


@dataclass(frozen=True, slots=True)
class Progress:
    """How many people of a case have got how far."""

    people: int = 0
    reached: int = 0
    tried: int = 0

    @property
    def to_contact(self) -> int:
        return self.people - self.reached - self.tried

    @property
    def not_reached(self) -> int:
        return self.people - self.reached

    def __str__(self) -> str:
        return f"{self.reached} of {self.people} reached"


def progress_by_case(cases: Iterable[RecallCase]) -> dict[int, Progress]:
    """By the case's id, in one query."""
    rows = (
        CasePatient.objects.filter(case__in=[case.pk for case in cases])
        .with_reach()
        .order_by()
        .values_list("case_id")
        .annotate(
            people=Count("pk"),
            reached=Count("pk", filter=Q(is_reached=True)),
            tried=Count("pk", filter=Q(is_reached=False, is_tried=True)),
        )
    )
    return {case_id: Progress(*counts) for case_id, *counts in rows}


def progress_of(case: RecallCase) -> Progress:
    return progress_by_case([case]).get(case.pk, Progress())


def laps_of(case: RecallCase, progress: Progress, now: datetime) -> list[Lap]:
    """The case's stopwatch; nobody to reach is everybody reached, once the list is complete."""
    reached_at = None
    if not progress.not_reached:
        reached_at = everybody_reached_at(case) or case.list_at
    return stopwatch(
        case.received_at,
        now,
        stopped_at=case.quarantined_at,
        listed_at=case.list_at,
        reached_at=reached_at,
        closed_at=case.closed_at,
        is_drill=case.is_drill,
    )


def everybody_reached_at(case: RecallCase) -> datetime | None:
    """When the last of those who were reached was reached for the first time."""
    firsts = (
        CaseContact.objects.filter(person__case=case, outcome__in=REACHING)
        .order_by()
        .values("person")
        .annotate(first=Min("at"))
    )
    return firsts.aggregate(last=Max("first"))["last"]


@dataclass(frozen=True, slots=True)
class ByChannel:
    """How many were told by one channel, and from which day to which."""

    channel: Channel
    people: int
    first_on: date
    last_on: date


@dataclass(frozen=True, slots=True)
class UnitFigures:
    """Units ever received of what is recalled; each stands in exactly one of the other figures."""

    received: int
    here: int
    apart: int
    used_up: int
    returned: int
    written_off: int
    missing: int

    @property
    def accounted_for(self) -> int:
        """All but those that still lie about and those that a count did not find."""
        return self.received - self.here - self.missing


@dataclass(frozen=True, slots=True)
class Status:
    """
    What a status report to the regulator counts.

    Source: FDA, "Product Recalls" guidance, March 2020: customers notified, dates and method,
    responded, not responded, quantity returned or accounted for, checks made, expected end.
    """

    people: int
    notified: int
    by_channel: tuple[ByChannel, ...]
    responded: int
    units: UnitFigures
    checks: Figure
    expected_end_on: date | None

    @property
    def not_responded(self) -> int:
        return self.people - self.responded


def status_of(case: RecallCase, extent: Extent, progress: Progress) -> Status:
    notified, by_channel = _notified(case)
    return Status(
        people=progress.people,
        notified=notified,
        by_channel=by_channel,
        responded=progress.reached,
        units=unit_figures(case, extent),
        checks=check_standing(case).figure,
        expected_end_on=case.expected_end_on,
    )


def _notified(case: RecallCase) -> tuple[int, tuple[ByChannel, ...]]:
    """
    People whom the message is on its way to, or reached, and by which channels.

    What came back undelivered, or went to a wrong number, did not notify: it takes back what the
    same channel did before.
    """
    sent: dict[tuple[str, int], date] = {}
    arrived: dict[tuple[str, int], date] = {}
    contacts = CaseContact.objects.filter(person__case=case).order_by("pk")
    for channel, person, word, at in contacts.values_list("channel", "person_id", "outcome", "at"):
        outcome, key = ContactOutcome(word), (channel, person)
        if outcome.has_reached:
            arrived.setdefault(key, timezone.localdate(at))
        elif outcome.has_notified:
            sent.setdefault(key, timezone.localdate(at))
        elif outcome.has_failed:
            sent.pop(key, None)
    days: dict[str, list[date]] = {}
    told = sent.keys() | arrived.keys()
    for key in told:
        days.setdefault(key[0], []).append(min(on[key] for on in (sent, arrived) if key in on))
    by_channel = tuple(
        ByChannel(channel, len(days[channel]), min(days[channel]), max(days[channel]))
        for channel in Channel
        if channel in days
    )
    return len({person for _, person in told}), by_channel


def unit_figures(case: RecallCase, extent: Extent) -> UnitFigures:
    """
    Each unit of the case once, in three queries. An opened unit whose rest was destroyed in a
    recall counts as destroyed, not as used up.
    """
    is_empty = Q(content__lte=F("drawn") + F("wasted"))
    opened = Q(state=UnitState.OPENED)
    counts = extent.units().aggregate(
        received=Count("pk"),
        here=Count("pk", filter=Q(state=UnitState.IN_STOCK) | opened & ~is_empty),
        used_up=Count("pk", filter=opened & is_empty),
        returned=Count("pk", filter=Q(state=UnitState.RETURNED)),
        written_off=Count("pk", filter=Q(state=UnitState.WRITTEN_OFF)),
        missing=Count("pk", filter=Q(state=UnitState.MISSING)),
    )
    listed = CaseUnit.objects.filter(case=case)
    apart = listed.filter(pulled_at__isnull=False).still_here().count()
    destroyed = CaseUnit.objects.filter(movement__kind=MovementKind.WASTED)
    rests = destroyed.filter(unit__in=extent.units()).count()
    counts["here"] -= apart
    counts["used_up"] -= rests
    counts["written_off"] += rests
    return UnitFigures(apart=apart, **counts)

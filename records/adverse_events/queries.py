"""Adverse events as lists, and the points in question."""

from django.db.models import F, QuerySet
from django.utils import timezone

from records.adverse_events.models import AdverseEvent
from records.patients.models import Patient
from records.sessions.models import InjectionEntry

OFFERED_SESSIONS = 3


def listed_events() -> QuerySet[AdverseEvent]:
    """The open ones by their first signs, then the closed ones by their closing, latest first."""
    return AdverseEvent.objects.select_related(
        "patient", "lot__product", "product", "session__injector", "recorded_by"
    ).order_by(F("closed_at").desc(nulls_first=True), "-onset_on", "-id")


def points_of(patient: Patient) -> QuerySet[InjectionEntry]:
    """What was injected into the patient, the latest session first."""
    points = InjectionEntry.objects.standing().filter(session__patient=patient)
    return points.select_related("session", "unit__lot__product").order_by(
        "-session__started_at", "-session_id", "number"
    )


def point_words(point: InjectionEntry) -> str:
    """ "10 Mar 2026, 3: Zygomatic region, left"."""
    day = timezone.localdate(point.session.started_at)
    side = f", {point.get_side_display().lower()}"
    return f"{day:%-d %b %Y}, {point.number}: {point.region_label}{side}"

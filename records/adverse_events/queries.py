"""Adverse events as lists."""

from django.db.models import F, QuerySet

from records.adverse_events.models import AdverseEvent


def listed_events() -> QuerySet[AdverseEvent]:
    """The open ones by their first signs, then the closed ones by their closing, latest first."""
    return AdverseEvent.objects.select_related(
        "patient", "lot__product", "session__injector", "recorded_by"
    ).order_by(F("closed_at").desc(nulls_first=True), "-onset_on", "-id")

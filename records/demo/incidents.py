"""What went wrong in the demo's past: a cluster on one lot, and single events on others."""

from datetime import date, timedelta
from functools import partial
from typing import Any

from records.adverse_events.enums import Causality, EventOutcome, Seriousness
from records.adverse_events.models import AdverseEvent
from records.adverse_events.services import close_event, record_event
from records.demo.clinic import at
from records.demo.story import Story
from records.sessions.models import InjectionEntry, TreatmentSession


def note_incidents(story: Story, session: TreatmentSession) -> None:
    """Note what the patient comes back with, if this is a lot of `fixtures/demo/incidents.json`."""
    if AdverseEvent.objects.filter(patient=session.patient).exists():
        return
    for point in session.points.select_related("unit__lot"):
        rows = story.incidents.get(point.unit.lot.number)
        if not rows:
            continue
        day = _open_day(session.started_at.date() + timedelta(days=rows[0]["after_days"]))
        if day < story.today:
            row = rows.pop(0)
            story.diary.note(at(day, 11), partial(_record, story, point, day, row))
        return


def _record(story: Story, point: InjectionEntry, day: date, row: dict[str, Any]) -> None:
    event = record_event(
        event=AdverseEvent(
            patient=point.session.patient,
            session=point.session,
            lot=point.unit.lot,
            region=point.region,
            side=point.side,
            onset_on=day - timedelta(days=1),
            unit=point.unit,
            grade=row["grade"],
            seriousness=Seriousness.NOT_SERIOUS,
            causality=Causality.POSSIBLE,
            signs=row["signs"],
            actions=row["actions"],
            outcome=row["outcome"],
        ),
        points=[point],
        actor=point.session.injector,
    )
    if closed_after := row.get("closed_after_days"):
        closing = _open_day(day + timedelta(days=closed_after))
        if closing < story.today:
            outcome = EventOutcome(row["outcome"])
            act = partial(close_event, event=event, outcome=outcome, actor=event.recorded_by)
            story.diary.note(at(closing, 11), act)


def _open_day(day: date) -> date:
    """The day, or the one after a Sunday."""
    return day + timedelta(days=day.isoweekday() == 7)

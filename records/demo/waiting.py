"""The demo's waiting list: who waits, a time that is offered, and one that just came free."""

from datetime import date, datetime, timedelta
from functools import partial

from clinic.visit_kinds.enums import AppointmentKind
from clinic.visit_kinds.queries import visit_kind
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.appointments.queries.slots import Fit, Wanted, next_days
from records.appointments.services.booking import book
from records.appointments.services.states import set_state
from records.demo.clinic import at, fixture
from records.demo.story import Story
from records.waiting_list.models import FreedTime, WaitingEntry, every_day
from records.waiting_list.services.entries import add_entry
from records.waiting_list.services.offers import offer_time


def plan_waiting(story: Story) -> None:
    """Who waits since when, as the fixture has it; then, this morning, two times come free."""
    for row in fixture("waiting"):
        since = at(story.today - timedelta(days=row["days"]), 11, 5)
        story.diary.note(since, partial(_wait, story, row))
    story.diary.note(at(story.today, 7, 20), partial(_come_free, story))


def _wait(story: Story, row: dict) -> None:
    practitioner = row.get("with")
    add_entry(
        entry=WaitingEntry(
            patient=story.patients[row["patient"]],
            kind=row["kind"],
            practitioner=None if practitioner is None else story.clinic.injectors[practitioner],
            first_on=story.today - timedelta(days=row["days"]),
            weekdays=row.get("weekdays") or every_day(),
            part=row.get("part", "any"),
            notice_hours=row["notice_hours"],
            is_urgent="urgent" in row,
            urgent_reason=row.get("urgent", ""),
            note=row.get("note", ""),
        ),
        actor=story.clinic.staff["desk"],
    )


def _come_free(story: Story) -> None:
    """The first is offered to who is first in order, the second is left for the visitor to try."""
    desk = story.clinic.staff["desk"]
    offered = _cancelled(story, story.today + timedelta(days=5), story.patients[3])
    offer_time(freed=FreedTime.objects.get(appointment=offered), actor=desk)
    _cancelled(story, story.today + timedelta(days=8), story.patients[5])


def _cancelled(story: Story, day: date, patient) -> Appointment:
    """A treatment on the first day from `day` on at which one fits, called off this morning."""
    desk, kind = story.clinic.staff["desk"], visit_kind(AppointmentKind.TREATMENT)
    wanted = Wanted(kind, day, day + timedelta(days=30), only=story.clinic.injectors[0])
    fit: Fit = next_days(wanted, days=1)[0].fits[0]
    start: datetime = fit.starts_at
    appointment = book(
        appointment=Appointment(
            patient=patient, practitioner=fit.practitioner, room=fit.room, starts_at=start,
            kind=AppointmentKind.TREATMENT, minutes=kind.minutes,
            preparation_minutes=kind.preparation_minutes, buffer_minutes=kind.buffer_minutes,
        ),
        actor=desk,
    )  # fmt: skip
    set_state(
        appointment=appointment, state=AppointmentState.CANCELLED, reason="Has a cold", actor=desk
    )
    return appointment

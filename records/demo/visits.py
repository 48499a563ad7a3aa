"""The demo's consultations: most patients come, some cancel, a few forget."""

import random
from datetime import datetime, timedelta
from functools import partial

from clinic.visit_kinds.enums import AppointmentKind
from records.appointments.enums import AppointmentState
from records.appointments.errors import TimeTaken
from records.appointments.models import Appointment
from records.appointments.services.booking import book
from records.appointments.services.states import set_state
from records.demo.clinic import at
from records.demo.story import Story

COUNT, DAYS = 72, 470
# What became of them, in turn, and how long before the visit it was known.
COURSE = [
    *[(AppointmentState.DONE, timedelta())] * 8,
    (AppointmentState.DID_NOT_ATTEND, timedelta()),
    (AppointmentState.CANCELLED, timedelta(days=2)),
    (AppointmentState.CANCELLED, timedelta(hours=3)),
    *[(AppointmentState.DONE, timedelta())] * 2,
]


def plan_consultations(story: Story) -> None:
    """
    Over the past, late in the day. Chances of its own, so that the rest of the story stays as it
    is; booked after the treatments of the day, which need not give way.
    """
    rng = random.Random(20261126)  # noqa: S311 (the same clinic each time, no secret)
    for number in range(COUNT):
        day = story.today - timedelta(days=2 + (COUNT - number) * DAYS // COUNT)
        if day.isoweekday() >= 6:
            day -= timedelta(days=2)
        starts_at = at(day, 16 + number % 2, rng.choice([0, 30]))
        outcome = COURSE[number % len(COURSE)]
        booking = partial(_book, story, starts_at, rng.randrange(60), number, outcome)
        story.diary.note(starts_at - timedelta(days=4), booking)


def _book(story: Story, starts_at: datetime, patient: int, number: int, outcome) -> None:
    desk = story.clinic.staff["desk"]
    visit = Appointment(
        patient=story.patients[patient],
        practitioner=story.clinic.injectors[number % 3 == 0],
        kind=AppointmentKind.CONSULTATION,
        starts_at=starts_at,
        minutes=30,
    )
    try:
        visit = book(appointment=visit, actor=desk)
    except TimeTaken:
        return  # A treatment is there: the patient asks another day.
    state, before = outcome
    reason = "Cannot get away from work" if state is AppointmentState.CANCELLED else ""
    end = partial(set_state, appointment=visit, state=state, actor=desk, reason=reason)
    story.diary.note(starts_at - before, end)

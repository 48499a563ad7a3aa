"""The diary against a model that keeps a plain list of spans, over any sequence of acts."""

import uuid
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from records.appointments.enums import AppointmentState
from records.appointments.errors import AppointmentClosed, TimeTaken
from records.appointments.models import Appointment, HeldCell
from records.appointments.services.booking import book
from records.appointments.services.moving import Whereto, move
from records.appointments.services.states import set_state
from tests.factories import make_patient, make_room, make_user

MORNING = datetime(2027, 3, 28, 0, tzinfo=UTC)  # the clocks go forward at 01:00
# Few people, rooms and times, so that most acts meet another one.
TWO, FIVES = st.integers(0, 1), st.integers(0, 24)
LENGTHS, BUFFERS = st.sampled_from([5, 15, 30, 45]), st.sampled_from([0, 5, 10])
ROOMS = st.sampled_from([None, 0, 1])
PICKS = st.integers(0, 20)


@dataclass
class Visit:
    """An appointment as the model keeps it; times in minutes from the morning."""

    person: int
    patient: int
    room: int | None
    start: int
    minutes: int
    before: int
    after: int
    holds: bool = True
    is_over: bool = False

    def clashes(self, other: "Visit") -> bool:
        whole = (
            self.start - self.before < other.start + other.minutes + other.after
            and other.start - other.before < self.start + self.minutes + self.after
        )
        visit = self.start < other.start + other.minutes and (
            other.start < self.start + self.minutes
        )
        same_room = self.room is not None and self.room == other.room
        return (whole and (self.person == other.person or same_room)) or (
            visit and self.patient == other.patient
        )


class Diary(RuleBasedStateMachine):
    """Two practitioners, two patients, two rooms and two hours."""

    def __init__(self) -> None:
        super().__init__()
        name = uuid.uuid4().hex[:10]
        self.desk = make_user(f"desk{name}", is_front_desk=True)
        self.people = [make_user(f"{name}{n}", is_injector=True) for n in range(2)]
        self.patients = [make_patient(self.desk, f"Ann {n}") for n in range(2)]
        self.rooms = [make_room(f"{name} {n}") for n in range(2)]
        self.visits: dict[int, Visit] = {}

    def is_free(self, visit: Visit, *, but: int | None = None) -> bool:
        return not any(
            visit.clashes(other) for pk, other in self.visits.items() if other.holds and pk != but
        )

    def pick(self, number: int) -> tuple[Appointment, Visit] | None:
        if not self.visits:
            return None
        pk = list(self.visits)[number % len(self.visits)]
        return Appointment.objects.get(pk=pk), self.visits[pk]

    @rule(person=TWO, patient=TWO, room=ROOMS, start=FIVES, minutes=LENGTHS, before=BUFFERS,
          after=BUFFERS)  # fmt: skip
    def book(self, person, patient, room, start, minutes, before, after):
        visit = Visit(person, patient, room, start * 5, minutes, before, after)
        appointment = Appointment(
            practitioner=self.people[person],
            patient=self.patients[patient],
            room=None if room is None else self.rooms[room],
            kind="treatment",
            starts_at=MORNING + timedelta(minutes=visit.start),
            minutes=minutes,
            preparation_minutes=before,
            buffer_minutes=after,
        )
        try:
            book(appointment=appointment, actor=self.desk)
        except TimeTaken:
            assert not self.is_free(visit)
        else:
            assert self.is_free(visit)
            self.visits[appointment.pk] = visit

    @rule(number=PICKS, person=TWO, room=ROOMS, start=FIVES, minutes=LENGTHS)
    def move(self, number, person, room, start, minutes):
        if (found := self.pick(number)) is None:
            return
        appointment, was = found
        there = Visit(person, was.patient, room, start * 5, minutes, was.before, was.after)
        to = Whereto(
            MORNING + timedelta(minutes=there.start),
            minutes,
            self.people[person],
            None if room is None else self.rooms[room],
        )
        try:
            move(appointment=appointment, to=to, actor=self.desk)
        except AppointmentClosed:
            assert was.is_over or not was.holds
        except TimeTaken:
            assert not self.is_free(there, but=appointment.pk)
        else:
            assert self.is_free(there, but=appointment.pk)
            self.visits[appointment.pk] = there

    @rule(number=PICKS, state=st.sampled_from(["arrived", "in_room", "booked", "did_not_attend",
                                               "done", "cancelled"]))  # fmt: skip
    def mark(self, number, state):
        if (found := self.pick(number)) is None:
            return
        appointment, visit = found
        state = AppointmentState(state)
        try:
            set_state(appointment=appointment, state=state, actor=self.desk, reason="Asked for it")
        except AppointmentClosed:
            assert visit.is_over
        except TimeTaken:
            assert state.takes_place
            assert not visit.holds
            assert not self.is_free(visit, but=appointment.pk)
        else:
            visit.holds, visit.is_over = state.takes_place, state.is_final

    @invariant()
    def the_cells_are_those_of_the_model(self):
        held = set(
            HeldCell.objects.filter(appointment__in=list(self.visits)).values_list(
                "cell", "practitioner_id", "room_id", "patient_id"
            )
        )
        first = int(MORNING.timestamp()) // 300
        expected = set()
        for visit in self.visits.values():
            if not visit.holds:
                continue
            start, end = visit.start - visit.before, visit.start + visit.minutes + visit.after
            for minute in range(start, end, 5):
                inside = visit.start <= minute < visit.start + visit.minutes
                expected.add(
                    (
                        first + minute // 5,
                        self.people[visit.person].pk,
                        None if visit.room is None else self.rooms[visit.room].pk,
                        self.patients[visit.patient].pk if inside else None,
                    )
                )
        assert held == expected


@pytest.mark.django_db
def test_the_diary_holds_what_a_plain_list_would():
    run_state_machine_as_test(
        Diary,
        settings=settings(
            max_examples=15,
            stateful_step_count=25,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )

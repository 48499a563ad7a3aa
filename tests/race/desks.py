"""
Several desks, each a process of its own with its own connection, that want the same time.

In each round all are let go together, and each tries once, in the round's way. Their times overlap
and are not the same, so no two need the same set of cells.
"""

import multiprocessing
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from django.db import IntegrityError, connections, transaction

from clinic.rooms.models import Room
from clinic.staff.models import User
from records.appointments.errors import TimeTaken
from records.appointments.models import Appointment
from records.appointments.services.booking import book
from records.appointments.services.moving import Whereto, move
from records.patients.models import Patient

FIRST = datetime(2027, 1, 4, 8, tzinfo=UTC)
MINUTES = 30
WON, LOST, BROKE = 1, 2, 3
WAIT_SECONDS = 120


@dataclass
class House:
    """As many people, patients and rooms as desks; `own` are appointments that desks move."""

    desk: User
    people: Sequence[User]
    patients: Sequence[Patient]
    rooms: Sequence[Room]
    own: Sequence[Appointment]


@dataclass
class Outcome:
    """How the rounds ended: `winners` of each round, and what nobody expected."""

    winners: list[int]
    lost: int
    seconds: float
    broken: list[str] = field(default_factory=list)

    @property
    def in_words(self) -> str:
        counts = dict(sorted(Counter(self.winners).items()))
        return (
            f"{len(self.winners)} rounds in {self.seconds:.1f} s, winners a round: {counts}, "
            f"refused {self.lost}, anything else {len(self.broken)}"
        )


def start_of(turn: int, desk: int) -> datetime:
    """An hour for each round; each desk a little later than the one before, all overlapping."""
    return FIRST + timedelta(hours=turn, minutes=5 * (desk % 6))


def _new(house: House, turn: int, desk: int, *, person: int, patient: int, room: int | None):
    return Appointment(
        practitioner=house.people[person],
        patient=house.patients[patient],
        room=None if room is None else house.rooms[room],
        kind="treatment",
        starts_at=start_of(turn, desk),
        minutes=MINUTES,
    )


def same_person(house: House, turn: int, desk: int) -> None:
    appointment = _new(house, turn, desk, person=0, patient=desk, room=None)
    book(appointment=appointment, actor=house.desk)


def same_room(house: House, turn: int, desk: int) -> None:
    appointment = _new(house, turn, desk, person=desk, patient=desk, room=0)
    book(appointment=appointment, actor=house.desk)


def same_patient(house: House, turn: int, desk: int) -> None:
    appointment = _new(house, turn, desk, person=desk, patient=0, room=desk)
    book(appointment=appointment, actor=house.desk)


def past_the_services(house: House, turn: int, desk: int) -> None:
    """A row that no service has seen: the database alone decides."""
    with transaction.atomic():
        rows = [_new(house, turn, desk, person=0, patient=desk, room=None)]
        Appointment.objects.bulk_create(rows)


def moved_there(house: House, turn: int, desk: int) -> None:
    own = Appointment.objects.get(pk=house.own[desk].pk)
    there = Whereto(start_of(turn, desk), MINUTES, house.people[0], None)
    move(appointment=own, to=there, actor=house.desk)


WAYS: tuple[Callable[[House, int, int], None], ...] = (
    same_person, same_room, same_patient, past_the_services, moved_there,
)  # fmt: skip


def race(house: House, rounds: int) -> Outcome:
    """Let the desks go, `rounds` times; the ways take turns."""
    desks = len(house.people)
    context = multiprocessing.get_context("fork")
    gate, outcomes = context.Barrier(desks), context.Array("b", rounds * desks)
    problems = context.SimpleQueue()
    # A connection must not be shared with a child.
    connections.close_all()
    began = time.perf_counter()
    children = [
        context.Process(target=_desk, args=(house, desk, rounds, gate, outcomes, problems))
        for desk in range(desks)
    ]
    for child in children:
        child.start()
    for child in children:
        child.join()
    seconds = time.perf_counter() - began
    broken = []
    while not problems.empty():
        broken.append(problems.get())
    broken += [f"a desk ended with {one.exitcode}" for one in children if one.exitcode]
    ends = list(outcomes)
    return Outcome(
        winners=[ends[turn * desks : (turn + 1) * desks].count(WON) for turn in range(rounds)],
        lost=ends.count(LOST),
        seconds=seconds,
        broken=broken,
    )


def _desk(house: House, desk: int, rounds: int, gate, outcomes, problems) -> None:
    for turn in range(rounds):
        way = WAYS[turn % len(WAYS)]
        gate.wait(WAIT_SECONDS)
        try:
            way(house, turn, desk)
            end = WON
        except TimeTaken:
            end = LOST
        except IntegrityError as error:
            end = LOST if way is past_the_services else BROKE
            if end == BROKE:
                problems.put(f"{way.__name__}: {error!r}")
        except Exception as error:
            end = BROKE
            problems.put(f"{way.__name__}: {error!r}")
        outcomes[turn * len(house.people) + desk] = end
    connections.close_all()

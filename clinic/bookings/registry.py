"""
What is booked belongs to the record, which the clinic's own pages do not know: whoever books
registers here, when the app is ready, who can say what lies in a span of time.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from clinic.rooms.models import Room
from clinic.staff.models import User


@dataclass(frozen=True, slots=True)
class TimeAway:
    """A span of time that is to be taken away from a person, a room, or (neither) everybody."""

    starts_at: datetime
    ends_at: datetime
    person: User | None = None
    room: Room | None = None


@dataclass(frozen=True, slots=True)
class Booked:
    """
    Attributes:
        count: the visits booked in a span that have not begun.
        address: a fragment that lists them; "" where there are none.
    """

    count: int = 0
    address: str = ""


Look = Callable[[TimeAway], Booked]
_looks: list[Look] = []


def register(look: Look) -> None:
    _looks[:] = [look]


def booked_in(time: TimeAway) -> Booked:
    """The visits that lie in the way of it; none where nobody books."""
    return _looks[0](time) if _looks else Booked()

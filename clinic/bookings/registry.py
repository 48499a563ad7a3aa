"""
What is booked belongs to the record, which the clinic's own pages do not know: whoever books
registers here, when the app is ready, who can say what lies in a span of time. People and rooms
are any rows here: their own pages ask, and lie below whoever they would have to know.
"""

from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Model


@dataclass(frozen=True, slots=True)
class TimeAway:
    """A span of time that is to be taken away from a person, a room, or (neither) everybody."""

    starts_at: datetime
    ends_at: datetime
    person: Model | None = None
    room: Model | None = None


@dataclass(frozen=True, slots=True)
class Booked:
    """
    Attributes:
        count: visits that have not begun.
        address: a fragment that lists them; "" where there are none.
    """

    count: int = 0
    address: str = ""


@dataclass(frozen=True, slots=True)
class Books:
    """
    Whoever can say what is booked.

    Attributes:
        during: the visits in a span of time.
        stranded: the ids of those of a person, of those in a room or (None) of all that have to be
            moved as things are now.
        listed: visits by their ids.
    """

    during: Callable[[TimeAway], Booked]
    stranded: Callable[[Model | None], frozenset[int]]
    listed: Callable[[Collection[int]], Booked]


_books: list[Books] = []


def register(books: Books) -> None:
    _books[:] = [books]


def booked_in(time: TimeAway) -> Booked:
    """The visits that lie in the way of it; none where nobody books."""
    return _books[0].during(time) if _books else Booked()


def stranded(whose: Model | None) -> frozenset[int]:
    """The visits that somebody has to move; none where nobody books."""
    return _books[0].stranded(whose) if _books else frozenset()


def listed(visits: Collection[int]) -> Booked:
    return _books[0].listed(visits) if _books else Booked()

"""What a source of the follow-up list is asked, and what it answers."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, NamedTuple

from planning.follow_up import Case, Tries, Try, folded


@dataclass(frozen=True, slots=True)
class Asked:
    """
    Attributes:
        on, now: the day and the moment of the list.
        until: reviews due so far ahead are on it.
        injector_id: whose patients; None for everybody's.
    """

    on: date
    now: datetime
    until: date
    injector_id: int | None = None


class Person(NamedTuple):
    """Who is turned to."""

    pk: int
    record_number: str
    name: str


class Found(NamedTuple):
    """
    One case with what a page says of it.

    Attributes:
        injector_id, injector: who treated the patient; None and "" where it is nobody's in
            particular.
        detail: what the source knows beyond the case, for its own cells of the page.
        sent: what became of the message that was sent about it, in words.
    """

    case: Case
    person: Person
    injector_id: int | None
    injector: str
    detail: Any
    sent: str = ""


Source = Callable[[Asked], Iterable[Found]]


def folded_by_key(rows: Iterable[tuple[int, Try]]) -> dict[int, Tries]:
    """The tries of each thing by its id, from rows in the order in which they were made."""
    tries: dict[int, list[Try]] = {}
    for key, one in rows:
        tries.setdefault(key, []).append(one)
    return {key: folded(made) for key, made in tries.items()}

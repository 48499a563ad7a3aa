"""Who of many may be the same person, each looked up by what the rule of duplicates asks for."""

from __future__ import annotations

from collections import defaultdict
from typing import Generic, TypeVar

from planning.names import PHONE_TAIL_DIGITS, Person, likely_duplicate, phone_tail

Thing = TypeVar("Thing")


def keys_of(person: Person) -> list[tuple[str, object]]:
    """
    What two entries of one person share at least one of: date of birth, end of the telephone
    number, e-mail. Without any of them `likely_duplicate` is not asked, here as in the record.
    """
    keys: list[tuple[str, object]] = []
    if person.birth_date:
        keys.append(("born", person.birth_date))
    tail = phone_tail(person.phone)
    if len(tail) == PHONE_TAIL_DIGITS:
        keys.append(("tail", tail))
    if email := person.email.strip().lower():
        keys.append(("email", email))
    return keys


class People(Generic[Thing]):
    """People with whatever stands for them, found again by a `Person` who may be the same."""

    def __init__(self) -> None:
        self._by_key: dict[tuple[str, object], list[tuple[Person, Thing]]] = defaultdict(list)

    def add(self, person: Person, thing: Thing) -> None:
        for key in keys_of(person):
            self._by_key[key].append((person, thing))

    def like(self, person: Person) -> list[tuple[Thing, str]]:
        """Each who may be `person`, once, with the reason; in the order they were added by key."""
        found: dict[int, tuple[Thing, str]] = {}
        for key in keys_of(person):
            for other, thing in self._by_key.get(key, []):
                reason = None if id(other) in found else likely_duplicate(person, other)
                if reason:
                    found[id(other)] = (thing, reason)
        return list(found.values())

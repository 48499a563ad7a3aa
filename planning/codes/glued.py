"""
Entries that a dropped separator has glued to a lot or serial number.

A keyboard scanner that does not send the separator turns lot `LOT42` and serial `SER9` into the
lot `LOT4221SER9`. No program can know; a person who holds the box can. So the question is asked
wherever the last value could hold one of the entries that a pack carries and that the code does not
hold elsewhere. Identifier 240 is left out: many lots have year and month in them, and 2406 is June.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass

from planning.codes.entries import Entry, name_of

_DAY = r"\d\d(?:0[1-9]|1[0-2])(?:[0-2]\d|3[01])"
# What is plain by its form comes first; the rest could be anywhere.
_INSIDE = {
    "01": re.compile(r"01(\d{14})"),
    "17": re.compile(rf"17({_DAY})"),
    "11": re.compile(rf"11({_DAY})"),
    "7003": re.compile(rf"7003({_DAY}\d{{4}})"),
    "21": re.compile(r"21(.+)"),
    "10": re.compile(r"10(.+)"),
}


@dataclass(frozen=True, slots=True)
class Glued:
    """Another reading of a value: the shorter value, and the entry that may follow it."""

    value: str
    ai: str
    rest: str

    def __str__(self) -> str:
        return f"“{self.value}”, followed by the {name_of(self.ai)} “{self.rest}”"


def glued(entry: Entry, present: Collection[str]) -> Glued | None:
    """Another reading of an open-ended value, given the identifiers that are present."""
    if not entry.open_ended:
        return None
    for ai, pattern in _INSIDE.items():
        if ai not in present and (match := pattern.search(entry.value, 1)):
            return Glued(entry.value[: match.start()], ai, match[1])
    return None

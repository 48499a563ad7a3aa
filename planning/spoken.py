"""What a caller says, taken apart: days, times, and what is left, which may be names or numbers."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, time

from planning import spoken_dates, spoken_times

# "the day after tomorrow at half past ten" are two parts; none is longer.
LONGEST_PART = 5
MOST_WORDS = 16
_HOUR = re.compile(r"[01]?[0-9]|2[0-3]")
# They belong to the day or time that follows.
_BEFORE = frozenset({"on", "at", "born", "dob", "for", "from", "around", "about", "the"})


@dataclass(frozen=True, slots=True)
class Heard:
    """
    Attributes:
        rest: what is no day and no time, in its order.
        days: every day that may be meant, the likeliest first.
        born: those among them that were said with a year and have come, as dates of birth have.
        times: every time of day that may be meant, the likeliest first.
    """

    rest: str
    days: tuple[date, ...] = ()
    born: tuple[date, ...] = ()
    times: tuple[time, ...] = ()


def hear(text: str, today: date) -> Heard:
    """
    The parts of `text`; the longest run of words that is a day or a time counts as one.

    A run that may be both ("10.12") gives both; a bare hour behind a day is a time ("tuesday 9").
    Beyond `MOST_WORDS` words nothing is looked for.
    """
    words = text.split()
    rest: list[str] = []
    days: dict[spoken_dates.Reading, None] = {}
    times: dict[time, None] = {}
    at, after_a_day = 0, False
    while at < len(words):
        length, found_days, found_times = _longest(words[at:MOST_WORDS], today)
        if length == 0 and after_a_day and _HOUR.fullmatch(words[at]):
            length, found_times = 1, spoken_times.readings(f"at {words[at]}")
        after_a_day = bool(found_days)
        if length == 0:
            rest.append(words[at])
            at += 1
            continue
        while rest and rest[-1].casefold() in _BEFORE:
            rest.pop()
        days.update(dict.fromkeys(found_days))
        times.update(dict.fromkeys(found_times))
        at += length
    return Heard(
        rest=" ".join(rest),
        days=tuple(dict.fromkeys(found.day for found in days)),
        born=tuple(
            dict.fromkeys(found.day for found in days if found.has_year and found.day <= today)
        ),
        times=tuple(times),
    )


def _longest(
    words: list[str], today: date
) -> tuple[int, tuple[spoken_dates.Reading, ...], tuple[time, ...]]:
    """How many of the first words are one day or time, and which."""
    for length in range(min(LONGEST_PART, len(words)), 0, -1):
        said = " ".join(words[:length]).strip(",;")
        days, times = spoken_dates.readings(said, today), spoken_times.readings(said)
        if days or times:
            return length, days, times
    return 0, (), ()

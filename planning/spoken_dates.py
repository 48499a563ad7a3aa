"""
Days as people say and type them: "4 Oct 1965", "4/10/65", "tomorrow", "friday week", "12 Dec".

Day first, as the clinic writes; what can also be read month first gives both readings. Nothing is
decided here: a text that may mean several days gives all of them, the likeliest first, and a text
that is no day gives none. Weekdays and months are English.

Source of the written forms: ISO 8601-1 for YYYY-MM-DD; the others are common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, timedelta
from typing import NamedTuple

from dateutil.relativedelta import relativedelta

FIRST_YEAR = 1900
# Nobody books further ahead, and nobody alive is born after today.
YEARS_AHEAD = 5

_MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september",
    "october", "november", "december",
)  # fmt: skip
_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_SHORT_WEEKDAYS = {"tues": 1, "weds": 2, "thur": 3, "thurs": 3}
_COUNTS = {
    "a": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8,
    "nine": 9, "ten": 10, "twelve": 12,
}  # fmt: skip
_NEAR = {
    "today": 0, "tonight": 0, "tomorrow": 1, "yesterday": -1,
    "the day after tomorrow": 2, "day after tomorrow": 2,
    "the day before yesterday": -2, "day before yesterday": -2,
}  # fmt: skip
_MONTH = r"(?P<month>[a-z]{3,9})\.?"
_DAY = r"(?P<day>[0-9]{1,2})(?:st|nd|rd|th|\.)?"
_YEAR = r"(?P<year>[0-9]{4}|'?[0-9]{2})"
_ISO = re.compile(r"(?P<year>[0-9]{4})-(?P<month>[0-9]{1,2})-(?P<day>[0-9]{1,2})")
_NUMBERS = re.compile(
    r"(?P<first>[0-9]{1,2})(?P<mark>[./ -])(?P<second>[0-9]{1,2})"
    r"(?:(?P=mark)(?P<year>[0-9]{4}|[0-9]{2}))?"
)
_RUN = re.compile(r"(?P<first>[0-9]{2})(?P<second>[0-9]{2})(?P<year>[0-9]{4})")
_NAMED = (
    re.compile(rf"(?:the )?{_DAY} (?:of )?{_MONTH}(?: {_YEAR})?"),
    re.compile(rf"{_MONTH} (?:the )?{_DAY}(?: {_YEAR})?"),
    # Written together: "4oct1965", "4-oct-65".
    re.compile(rf"(?P<day>[0-9]{{1,2}})-?{_MONTH}-?{_YEAR}"),
)
_WEEKDAY = re.compile(
    r"(?:(?P<which>this|next|last|on|a week on|a week) )?(?P<name>[a-z]{3,9})\.?"
    r"(?P<week> week| fortnight)?"
)
_FROM_NOW = re.compile(
    r"(?:in )?(?P<count>[0-9]{1,2}|[a-z]+) (?P<unit>day|week|month)s?(?P<back> ago)?"
    r"(?P<ahead> from now)?"
)


class Reading(NamedTuple):
    """A day that may be meant; `has_year`: the year was said, as it is with a date of birth."""

    day: date
    has_year: bool = False


def readings(text: str, today: date) -> tuple[Reading, ...]:
    """
    Every day that the whole text may mean, the likeliest first; empty if it is no day.

    Without a year the day nearest to come stands before the one that passed last. A year of two
    digits is read in both centuries that lie between `FIRST_YEAR` and `YEARS_AHEAD` from today, the
    one that is nearer to today first.
    """
    said = " ".join(text.casefold().replace(",", " ").split())
    found: dict[Reading, None] = {}
    for form in (_near, _written, _named, _by_weekday, _from_now):
        found.update(dict.fromkeys(form(said, today)))
    return tuple(one for one in found if FIRST_YEAR <= one.day.year <= today.year + YEARS_AHEAD)


def births(text: str, today: date) -> tuple[date, ...]:
    """The dates of birth that the whole text may mean: said with a year, and not yet to come."""
    said = (found.day for found in readings(text, today) if found.has_year and found.day <= today)
    return tuple(dict.fromkeys(said))


def _near(said: str, today: date) -> Iterator[Reading]:
    if said in _NEAR:
        yield Reading(today + timedelta(days=_NEAR[said]))


def _written(said: str, today: date) -> Iterator[Reading]:
    """In numbers; a comma or blank after a point ("4. 10. 1965") is none of the date."""
    plain = re.sub(r"(?<=[./-]) ", "", said)
    if match := _ISO.fullmatch(plain):
        yield from _on(match["year"], int(match["month"]), int(match["day"]), today)
    elif match := _NUMBERS.fullmatch(plain) or _RUN.fullmatch(plain):
        first, second = int(match["first"]), int(match["second"])
        if match["year"] is None and match["mark"] in " -":
            return  # "12 10" and "3-4" are too often something else
        yield from _on(match["year"], second, first, today)
        if match.groupdict().get("mark") != ".":  # nobody writes the month first with points
            yield from _on(match["year"], first, second, today)


def _named(said: str, today: date) -> Iterator[Reading]:
    for form in _NAMED:
        match = form.fullmatch(said)
        if match and (month := _month(match["month"])):
            yield from _on(match["year"], month, int(match["day"]), today)


def _month(name: str) -> int | None:
    """1 to 12 for a month's name or its beginning of at least three letters ("sept")."""
    found = [number for number, month in enumerate(_MONTHS, 1) if month.startswith(name)]
    return found[0] if len(name) >= 3 and len(found) == 1 else None


def _on(year: str | None, month: int, day: int, today: date) -> Iterator[Reading]:
    """The days of this day and month in every year that is meant."""
    if year is None:
        # Eight years: as far apart as two leap days can be.
        around = [_exact(today.year + step, month, day) for step in range(-8, 9)]
        ahead = [found for found in around if found and found >= today][:1]
        passed = [found for found in around if found and found < today][-1:]
        yield from map(Reading, [*ahead, *passed])
        return
    digits = year.lstrip("'")
    years = [int(digits)] if len(digits) == 4 else [1900 + int(digits), 2000 + int(digits)]
    real = [found for found in (_exact(one, month, day) for one in years) if found]
    for found in sorted(real, key=lambda found: abs(found - today)):
        yield Reading(found, has_year=True)


def _exact(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _by_weekday(said: str, today: date) -> Iterator[Reading]:
    """
    "friday" is the one to come, today if it is one; "next friday" may be that one or the one of
    next week; "friday week" is a week after the one to come.
    """
    match = _WEEKDAY.fullmatch(said)
    number = _weekday(match["name"]) if match else None
    if match is None or number is None:
        return
    coming = today + timedelta(days=(number - today.weekday()) % 7)
    if match["week"] or "week" in (match["which"] or ""):
        yield Reading(coming + timedelta(weeks=2 if match["week"] == " fortnight" else 1))
    elif match["which"] == "last":
        yield Reading(today - timedelta(days=(today.weekday() - number - 1) % 7 + 1))
    elif match["which"] == "next":
        following = today + timedelta(days=7 - today.weekday() + number)
        yield from map(Reading, [coming] if coming > today else [])
        yield Reading(following)
    else:
        yield Reading(coming)


def _weekday(name: str) -> int | None:
    """0 for Monday; names, their first three letters, and the usual shorter ones."""
    for number, weekday in enumerate(_WEEKDAYS):
        if name in (weekday, weekday[:3]):
            return number
    return _SHORT_WEEKDAYS.get(name)


def _from_now(said: str, today: date) -> Iterator[Reading]:
    """ "in two weeks", "3 days ago", "next week" is none: it is no day."""
    match = _FROM_NOW.fullmatch(said)
    if match is None or not (said.startswith("in ") or match["back"] or match["ahead"]):
        return
    said_count = match["count"]
    count = int(said_count) if said_count.isdecimal() else _COUNTS.get(said_count)
    if count is None:
        return
    step = {
        "day": relativedelta(days=count),
        "week": relativedelta(weeks=count),
        "month": relativedelta(months=count),
    }[match["unit"]]
    yield Reading(today - step if match["back"] else today + step)

"""
Dates in a code: six digits, YYMMDD.

The century is not in the code: years run from 49 before the current one to 50 after it. Day 00 is
the last day of the month; new labels of medicines and devices no longer use it since 1 January
2025, old stock does. Sources: GS1 General Specifications, section 3.4 (dates) and 7.12 (century);
GSCN 21-040 (day 00).
"""

from __future__ import annotations

import calendar
from dataclasses import dataclass
from datetime import date, time

LIKELY_YEARS = 10


class CodeDateError(ValueError):
    """The digits are no day of the calendar."""


@dataclass(frozen=True, slots=True)
class CodeDate:
    """A day; `month_only` if the code left the day open and it is the month's last."""

    day: date
    month_only: bool = False


def full_year(two_digits: int, current_year: int) -> int:
    """The year that two digits mean when read in `current_year`."""
    century = current_year - current_year % 100
    distance = two_digits - current_year % 100
    if distance > 50:
        return century - 100 + two_digits
    if distance < -49:
        return century + 100 + two_digits
    return century + two_digits


def read_date(digits: str, *, today: date) -> CodeDate:
    """
    The day that YYMMDD means when read on `today`.

    Raises:
        CodeDateError: not six digits, or no day of the calendar.
    """
    if len(digits) != 6 or not (digits.isascii() and digits.isdigit()):
        raise CodeDateError(digits)
    year, month, day = full_year(int(digits[:2]), today.year), int(digits[2:4]), int(digits[4:])
    try:
        if day:
            return CodeDate(date(year, month, day))
        return CodeDate(date(year, month, calendar.monthrange(year, month)[1]), month_only=True)
    except ValueError as error:
        raise CodeDateError(digits) from error


def read_time(digits: str) -> time:
    """
    The time of day that hhmm means.

    Raises:
        CodeDateError: no time of day.
    """
    try:
        return time(int(digits[:2]), int(digits[2:]))
    except ValueError as error:
        raise CodeDateError(digits) from error


def is_likely(day: date, *, today: date) -> bool:
    """Whether a pack in hand on `today` can carry this day (10 years; common practice)."""
    earliest = (today.year - LIKELY_YEARS, today.month, today.day)
    latest = (today.year + LIKELY_YEARS, today.month, today.day)
    return earliest <= (day.year, day.month, day.day) <= latest


def written(day: date) -> str:
    """The day as a sentence writes it: 28 February 2027."""
    return f"{day.day} {day:%B} {day.year}"

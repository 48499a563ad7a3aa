"""
Age in completed years.

Someone born on 29 February completes a year on 1 March of a common year: the stricter of the two
readings, so that an age limit is never passed a day early.
"""

from __future__ import annotations

from datetime import date


def age_years(birth_date: date, on: date) -> int:
    """
    Completed years on a date, by month and day.

    Raises:
        ValueError: born after that date.
    """
    if birth_date > on:
        raise ValueError("The date of birth lies after the date asked about.")
    before_birthday = (on.month, on.day) < (birth_date.month, birth_date.day)
    return on.year - birth_date.year - before_birthday

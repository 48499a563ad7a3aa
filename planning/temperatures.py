"""
The temperature log of a fridge or room: readings, and when they lay outside of its range.

Temperatures are whole tenths of a degree Celsius. A thermometer that remembers the lowest and
highest since the last reading shows what happened in between; without it, a door left open at night
leaves no trace. What was outside is to be set apart until the maker or a pharmacist has judged it;
this module only says when.

Sources: `FRIDGE_RANGE`, `FRIDGE_READINGS`. The range on the product's pack comes first.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from planning.amounts import NO_BREAK_SPACE

# What a fridge should keep, both ends included.
FRIDGE_LOWEST = 20
FRIDGE_HIGHEST = 80
# A slip on the keyboard, not a limit: neither a freezer nor a room in the sun is beyond them.
COLDEST_TYPED = -1_000
WARMEST_TYPED = 1_000
_LONGEST_TEXT = 20
_TYPED = re.compile(
    r"(?P<sign>[-+\u2212]?)\s*(?P<whole>[0-9]{1,4})(?:[.,](?P<part>[0-9]+))?\s*(?:°?\s*C|°)?",
    re.IGNORECASE,
)
_FAHRENHEIT = re.compile(r"[-+\u2212]?[0-9.,]+\s*°?\s*F", re.IGNORECASE)


class TemperatureError(ValueError):
    """What was typed is no temperature, or readings that cannot be; says what to do."""


@dataclass(frozen=True, slots=True)
class Reading:
    """
    One look at the thermometer, in tenths of a degree.

    `coldest` and `warmest` are its memory since the reading before; None if it has none.
    """

    at: datetime
    temperature: int
    coldest: int | None = None
    warmest: int | None = None

    def __post_init__(self) -> None:
        if self.coldest is not None and self.coldest > self.temperature:
            raise TemperatureError(
                "The lowest since the last reading cannot be above the temperature now: "
                "compare both with the thermometer."
            )
        if self.warmest is not None and self.warmest < self.temperature:
            raise TemperatureError(
                "The highest since the last reading cannot be below the temperature now: "
                "compare both with the thermometer."
            )

    @property
    def least(self) -> int:
        """The lowest known temperature since the reading before."""
        return self.temperature if self.coldest is None else self.coldest

    @property
    def most(self) -> int:
        """The highest known temperature since the reading before."""
        return self.temperature if self.warmest is None else self.warmest


@dataclass(frozen=True, slots=True)
class Excursion:
    """
    Readings in a row that lay outside of the range.

    Attributes:
        first, last: times of the first and the last reading outside.
        after: the last good reading before, since when it may have lasted; None if there is none.
        before: the first good reading afterwards, until when it may have lasted; None if not yet.
        least, most: lowest and highest temperature of these readings, in tenths.
        is_over: whether the temperature is back inside, by the last reading outside (whose memory
            it was) or by one after it.
    """

    first: datetime
    last: datetime
    after: datetime | None
    before: datetime | None
    least: int
    most: int
    lowest: int
    highest: int
    is_over: bool

    @property
    def extreme(self) -> int:
        """The temperature farthest outside, in tenths; the colder one if both are as far."""
        too_cold, too_warm = self.lowest - self.least, self.most - self.highest
        return self.least if too_cold >= too_warm else self.most


def excursions(
    readings: Iterable[Reading], lowest: int = FRIDGE_LOWEST, highest: int = FRIDGE_HIGHEST
) -> list[Excursion]:
    """
    Each run of consecutive readings outside of `lowest` to `highest`, both ends allowed.

    A reading lies outside by its temperature or by the memory of the thermometer.

    Args:
        readings: of one place, in the order of time; times all with a zone or all without.

    Raises:
        TemperatureError: lowest above highest, or readings out of order.
    """
    if lowest > highest:
        raise TemperatureError("The lowest temperature of a range cannot be above the highest.")
    found: list[Excursion] = []
    outside: list[Reading] = []
    good: Reading | None = None
    for reading in _in_order(readings):
        if reading.least < lowest or reading.most > highest:
            outside.append(reading)
            continue
        if outside:
            found.append(_excursion(outside, good, reading, lowest, highest))
            outside = []
        good = reading
    if outside:
        found.append(_excursion(outside, good, None, lowest, highest))
    return found


def _in_order(readings: Iterable[Reading]) -> Iterator[Reading]:
    previous: Reading | None = None
    for reading in readings:
        if previous and reading.at <= previous.at:
            raise TemperatureError("Readings are judged in the order of time, one at a time.")
        yield reading
        previous = reading


def _excursion(
    outside: list[Reading],
    good_before: Reading | None,
    good_after: Reading | None,
    lowest: int,
    highest: int,
) -> Excursion:
    return Excursion(
        first=outside[0].at,
        last=outside[-1].at,
        after=good_before.at if good_before else None,
        before=good_after.at if good_after else None,
        least=min(reading.least for reading in outside),
        most=max(reading.most for reading in outside),
        lowest=lowest,
        highest=highest,
        is_over=good_after is not None or lowest <= outside[-1].temperature <= highest,
    )


def overdue(last_at: datetime | None, now: datetime, hours: int) -> bool:
    """
    Whether more than so many hours passed since the last reading; always if there is none.

    Raises:
        TemperatureError: hours not above 0.
    """
    if hours <= 0:
        raise TemperatureError("Readings are due after at least 1 hour.")
    return last_at is None or now - last_at > timedelta(hours=hours)


def parse_temperature(text: str) -> int:
    """
    Tenths of a degree Celsius from typed text: "5.4", "5,4", "-1", with or without "°C".

    Raises:
        TemperatureError: anything else, finer than a tenth, or beyond 100 °C either way; the
            message is for the person typing.
    """
    typed = text.strip()
    match = _TYPED.fullmatch(typed) if len(text) <= _LONGEST_TEXT else None
    if match is None:
        if len(text) <= _LONGEST_TEXT and _FAHRENHEIT.fullmatch(typed):
            raise TemperatureError("This log is in °C: set the thermometer to Celsius.")
        shown = f"“{typed[:20]}” is not a temperature: type" if typed else "Type"
        raise TemperatureError(f"{shown} degrees Celsius with the digits 0 to 9, such as 5.4.")
    part = match["part"] or "0"
    if len(part) > 1:
        raise TemperatureError(f"Type at most 1 digit after the point; “{typed}” has {len(part)}.")
    tenths = int(match["whole"]) * 10 + int(part)
    tenths = tenths if match["sign"] in ("", "+") else -tenths
    if not COLDEST_TYPED <= tenths <= WARMEST_TYPED:
        raise TemperatureError(f"“{typed}” is no temperature of a fridge or room: type it again.")
    return tenths


def plain_temperature(tenths: int) -> str:
    """The number alone, as a form field shows it: "5.4", "5", "-1"."""
    if not isinstance(tenths, int) or isinstance(tenths, bool):
        raise TypeError(f"A temperature is a whole number of tenths, not {type(tenths).__name__}.")
    whole, part = divmod(abs(tenths), 10)
    return f"{'-' if tenths < 0 else ''}{whole}{f'.{part}' if part else ''}"


def format_temperature(tenths: int, *, no_break: bool = False) -> str:
    """ "5.4 °C", "5 °C", with a minus sign below 0; `no_break` keeps number and unit together."""
    space = NO_BREAK_SPACE if no_break else " "
    number = plain_temperature(tenths).replace("-", "\u2212")
    return f"{number}{space}°C"

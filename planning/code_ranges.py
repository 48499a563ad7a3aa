"""
Is a lot or serial number inside a range that a maker names, "from … to …"?

A number is text without an order of its own. It is split into runs of digits and runs of anything
else; runs of digits compare as numbers, others as text, and the first run that differs decides.
That is only sure where number and ends are built alike: the same runs, the others equally long.
What is built differently, or lies outside only because of how it is written (case, O for 0, a
hyphen), is never said to be outside: a person has to compare it with the notice.

Source: common practice, no source; lot and serial numbers are text by the GS1 General
Specifications, sections 3.4.1 and 3.5.2.
"""

from __future__ import annotations

import re

from planning.lot_numbers import readings, without_grouping
from planning.vocabulary import Term

_RUN = re.compile(r"[0-9]+|[^0-9]+")


class RangeError(ValueError):
    """The two ends make no range; the message says what to do."""


class Within(Term):
    """Whether a number lies in a range."""

    INSIDE = "inside", "In the range"
    OUTSIDE = "outside", "Not in the range"
    UNCLEAR = "unclear", "Compare with the notice"


def check_range(first: str, last: str) -> None:
    """
    Raises RangeError unless both ends are given, built alike and in order.

    A range of one number, first and last the same, is a range.
    """
    if not first.strip() or not last.strip():
        raise RangeError(
            "Type both the first and the last number of the range. For a single number type it "
            "twice."
        )
    if _shape(first) != _shape(last):
        raise RangeError(
            f"“{first}” and “{last}” are built differently, so what lies between them is not "
            "sure. Type a range for each kind of number, or the numbers one by one."
        )
    if _key(first) > _key(last):
        raise RangeError(
            f"“{last}” comes before “{first}”. Compare with the notice and type the first number "
            "first."
        )


def within(number: str, first: str, last: str) -> Within:
    """
    Whether the number lies from `first` to `last`, both included.

    Blanks at the ends of each are ignored.

    Raises:
        RangeError: see `check_range`.
    """
    check_range(first, last)
    if _shape(number) != _shape(first):
        return Within.UNCLEAR
    if _is_between(number, first, last):
        return Within.INSIDE
    ends = list(zip(_writings(first), _writings(last), strict=True))
    may_be_meant = any(
        _shape(one) == _shape(low) == _shape(high) and _is_between(one, low, high)
        for one in _writings(number)
        for low, high in ends
    )
    return Within.UNCLEAR if may_be_meant else Within.OUTSIDE


def _writings(number: str) -> tuple[str, ...]:
    """
    The ways one number may be written, in an order that is the same for each.

    Small letters alone are a way of their own: with letters read as digits too, A to B becomes A to
    8, which is no range, and a small "a" would lie outside.
    """
    capitals = "".join(number.split()).upper()
    return capitals, without_grouping(capitals), *readings(number)


def _runs(number: str) -> list[str]:
    return _RUN.findall(number.strip())


def _shape(number: str) -> tuple[int, ...]:
    """For each run 0 if it is digits, otherwise its length."""
    return tuple(0 if run[0] in "0123456789" else len(run) for run in _runs(number))


def _key(number: str) -> list[tuple[int, str]]:
    """Compares as the number does with others of its shape; digits without a limit of length."""
    runs = [run.lstrip("0") if run[0] in "0123456789" else run for run in _runs(number)]
    return [(len(run), run) for run in runs]


def _is_between(number: str, first: str, last: str) -> bool:
    return _key(first) <= _key(number) <= _key(last)

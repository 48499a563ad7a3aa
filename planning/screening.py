"""
What a patient's medical history says: which rules an answer meets, what is new in it, and when it
is too old to go by.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from planning.review_dates import Interval, IntervalUnit
from planning.vocabulary import Term


class Said(Term):
    """What was said to a question."""

    YES = "yes", "Yes"
    NO = "no", "No"
    UNSURE = "unsure", "Not sure"
    WRITTEN = "written", "Something written"
    NOTHING = "nothing", "Nothing written"


class Change(Term):
    """How an answer stands to the one before."""

    SAME = "same", "As before"
    CHANGED = "changed", "Changed"
    NEW = "new", "Not asked before"


@dataclass(frozen=True, slots=True)
class Given:
    """One answer: what was said, and the words to it."""

    said: Said
    detail: str = ""


def meets(asked: Said, said: Said) -> bool:
    """
    Whether a rule for the answer `asked` speaks when `said` was said.

    Whoever is not sure meets a rule for "yes" and one for "no": a person asks then.
    """
    if said is Said.UNSURE:
        return asked in (Said.YES, Said.NO, Said.UNSURE)
    return asked is said


def change_of(now: Given, code: str, before: Mapping[str, Given]) -> Change:
    """
    Args:
        before: the answers of the form before, by the question's code.
    """
    if code not in before:
        return Change.NEW
    return Change.SAME if before[code] == now else Change.CHANGED


def good_until(given_on: date, months: int) -> date:
    """The last day on which a history of `given_on` is gone by: the same day `months` later."""
    return Interval(months, IntervalUnit.MONTH).after(given_on)

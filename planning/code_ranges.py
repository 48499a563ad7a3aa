"""Placeholder until the ranges land."""

from __future__ import annotations

from planning.vocabulary import Term


class Within(Term):
    INSIDE = "inside", "Inside"
    OUTSIDE = "outside", "Outside"
    UNCLEAR = "unclear", "Unclear"


def within(number: str, first: str, last: str) -> Within:
    return Within.INSIDE if first <= number <= last else Within.OUTSIDE

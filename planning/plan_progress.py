"""
A plan against what was given: which planned line each point counts for, and how far each line is.

A point counts for one line at most: of its region, side and product, first those of its plane and
technique, then those that are not full yet, then the first. What no line asked for is told apart.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import dataclass

from planning.vocabulary import Measure, Plane, Side, Technique, Term


class LineState(Term):
    """How far a planned line is; the words of the page."""

    OPEN = "open", "Not given"
    PARTLY = "partly", "Partly given"
    DONE = "done", "Given as planned"
    OVER = "over", "More than planned"


@dataclass(frozen=True, slots=True)
class PlannedLine:
    """
    What is planned for one region and side.

    `product` is the same for packs of any size; `amount` is in the base unit of `measure`.
    """

    key: Hashable
    region: str
    side: Side
    product: Hashable
    plane: Plane
    technique: Technique
    measure: Measure
    amount: int

    def __post_init__(self) -> None:
        if self.amount <= 0:
            raise ValueError("A planned amount must be above 0.")


@dataclass(frozen=True, slots=True)
class GivenPoint:
    """A standing point, as far as it is compared; `product` as in `PlannedLine`."""

    key: Hashable
    region: str
    side: Side
    product: Hashable
    plane: Plane
    technique: Technique
    amount: int


@dataclass(frozen=True, slots=True)
class LineProgress:
    """`points`: keys of those that count for the line, in their order."""

    line: PlannedLine
    given: int
    points: tuple[Hashable, ...]

    @property
    def difference(self) -> int:
        """Given less planned: below 0 while something is missing."""
        return self.given - self.line.amount

    @property
    def left(self) -> int:
        return max(0, -self.difference)

    @property
    def state(self) -> LineState:
        if not self.given:
            return LineState.OPEN
        if self.difference < 0:
            return LineState.PARTLY
        return LineState.DONE if self.difference == 0 else LineState.OVER


@dataclass(frozen=True, slots=True)
class Progress:
    """The lines in their order, and the points that were not planned."""

    lines: tuple[LineProgress, ...]
    unplanned: tuple[GivenPoint, ...]


def progress(lines: Iterable[PlannedLine], points: Iterable[GivenPoint]) -> Progress:
    """Every point counted once, in the order given."""
    planned = list(lines)
    given = [0] * len(planned)
    of_line: list[list[Hashable]] = [[] for _ in planned]
    unplanned: list[GivenPoint] = []
    for point in points:
        fitting = [
            index
            for index, line in enumerate(planned)
            if (line.region, line.side, line.product) == (point.region, point.side, point.product)
        ]
        if not fitting:
            unplanned.append(point)
            continue
        index = min(
            fitting,
            key=lambda at: (
                planned[at].plane is not point.plane,
                planned[at].technique is not point.technique,
                given[at] >= planned[at].amount,
                at,
            ),
        )
        given[index] += point.amount
        of_line[index].append(point.key)
    rows = zip(planned, given, of_line, strict=True)
    return Progress(
        tuple(LineProgress(line, amount, tuple(keys)) for line, amount, keys in rows),
        tuple(unplanned),
    )

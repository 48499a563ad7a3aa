"""
Grading a face region by region before it is planned: how much volume is lost, how deep the lines
are at full movement, left against right, and what has changed since the last time.

The scales are published ones without a maker's name (`SCALES`, each with its source). A grade is
what one person saw on one day; it measures nothing and decides nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from planning.atlas.regions import MIDLINE_REGIONS, Region
from planning.sources import MOVEMENT_GRADES, VOLUME_GRADES, Source
from planning.vocabulary import Side, Term


class GradeError(ValueError):
    """The grade is not on the scale, or not one that this region can have."""


class Scale(Term):
    """What is graded."""

    VOLUME = "volume", "Loss of volume"
    MOVEMENT = "movement", "Lines at full movement"

    @property
    def grades(self) -> tuple[str, ...]:
        """The words of the grades, from 0 up."""
        return SCALES[self].grades

    @property
    def source(self) -> Source:
        return SCALES[self].source

    @property
    def most(self) -> int:
        return len(self.grades) - 1

    def word(self, grade: int) -> str:
        """ "2 moderate"."""
        return f"{grade} {self.grades[grade]}"


@dataclass(frozen=True, slots=True)
class _Grading:
    grades: tuple[str, ...]
    source: Source


SCALES: dict[Scale, _Grading] = {
    Scale.VOLUME: _Grading(("none", "mild", "moderate", "severe", "very severe"), VOLUME_GRADES),
    Scale.MOVEMENT: _Grading(("none", "mild", "moderate", "severe"), MOVEMENT_GRADES),
}

MOVING_REGIONS: frozenset[Region] = frozenset(
    {
        Region.FOREHEAD,
        Region.GLABELLA,
        Region.BROW,
        Region.LATERAL_CANTHAL,
        Region.NASAL,
        Region.UPPER_LIP,
        Region.LOWER_LIP,
        Region.ORAL_COMMISSURE,
        Region.MENTAL,
        Region.NECK,
    }
)
"""Where lines at full movement are asked for. A choice of this tool, common practice, no source."""


def scales_of(region: Region) -> tuple[Scale, ...]:
    """What is asked for in a region."""
    return (Scale.VOLUME, Scale.MOVEMENT) if region in MOVING_REGIONS else (Scale.VOLUME,)


def sides_of(region: Region) -> tuple[Side, ...]:
    """The sides that can be graded, as the drawing shows them; MIDLINE stands for the whole."""
    if region in MIDLINE_REGIONS:
        return (Side.RIGHT, Side.MIDLINE, Side.LEFT)
    return (Side.RIGHT, Side.LEFT)


@dataclass(frozen=True, slots=True)
class RegionGrade:
    """
    One region on one scale. A grade is None where nobody gave one.

    Raises:
        GradeError: a grade beyond the scale; the whole and a side both graded, or the whole of a
            region that comes in pairs; neither a grade nor a note.
    """

    region: Region
    scale: Scale
    left: int | None = None
    right: int | None = None
    midline: int | None = None
    note: str = ""

    def __post_init__(self) -> None:
        for side, grade in self.by_side:
            if not 0 <= grade <= self.scale.most:
                raise GradeError(
                    f"{self.region.label}, {side.label.lower()}: grade {grade} is not on the scale "
                    f"of 0 to {self.scale.most}."
                )
        if self.midline is not None and self.region not in MIDLINE_REGIONS:
            raise GradeError(f"{self.region.label} comes in pairs: grade left and right.")
        if self.midline is not None and len(self.by_side) > 1:
            raise GradeError(
                f"{self.region.label}: grade the whole region or its two sides, not both."
            )
        if not self.by_side and not self.note:
            raise GradeError(f"{self.region.label}: give a grade or write a note.")

    @property
    def by_side(self) -> tuple[tuple[Side, int], ...]:
        """The grades given, as the drawing shows them from left to right."""
        graded = ((Side.RIGHT, self.right), (Side.MIDLINE, self.midline), (Side.LEFT, self.left))
        return tuple((side, grade) for side, grade in graded if grade is not None)

    @property
    def asymmetry(self) -> int | None:
        """Left minus right, None unless both sides are graded."""
        if self.left is None or self.right is None:
            return None
        return self.left - self.right

    @property
    def asymmetry_words(self) -> str:
        """ "left 2 grades more", "" where both sides are alike or not both graded."""
        if not self.asymmetry:
            return ""
        more = Side.LEFT if self.asymmetry > 0 else Side.RIGHT
        steps = abs(self.asymmetry)
        return f"{more.label.lower()} {steps} grade{'s' if steps > 1 else ''} more"


class Need(NamedTuple):
    """One side of one region that has something to treat."""

    region: Region
    side: Side
    scale: Scale
    grade: int

    @property
    def word(self) -> str:
        """ "2 moderate"."""
        return self.scale.word(self.grade)


def needs(grades: Iterable[RegionGrade]) -> tuple[Need, ...]:
    """
    What is graded 1 or more: by share of the scale, the worst first, then as regions are ordered.

    The scales differ in length, so a grade counts by its share of its own scale: 3 of 3 comes
    before 3 of 4. A choice of this tool, no source.
    """
    found = [
        Need(row.region, side, row.scale, grade)
        for row in grades
        for side, grade in row.by_side
        if grade >= 1
    ]
    order = list(Region)
    return tuple(
        sorted(found, key=lambda need: (-need.grade / need.scale.most, order.index(need.region)))
    )


class Course(Term):
    """How a grade moved from one assessment to the next."""

    IMPROVED = "improved", "improved"
    WORSE = "worse", "worse"
    SAME = "same", "the same"
    NEW = "new", "not graded before"
    DROPPED = "dropped", "no longer graded"


class Step(NamedTuple):
    """One side of one region then and now; None where it was not graded."""

    region: Region
    side: Side
    scale: Scale
    before: int | None
    after: int | None

    @property
    def course(self) -> Course:
        if self.before is None:
            return Course.NEW
        if self.after is None:
            return Course.DROPPED
        if self.after == self.before:
            return Course.SAME
        return Course.IMPROVED if self.after < self.before else Course.WORSE

    @property
    def words(self) -> str:
        """ "improved, 3 to 1", "not graded before"."""
        if self.course in (Course.IMPROVED, Course.WORSE):
            return f"{self.course.label}, {self.before} to {self.after}"
        if self.course is Course.DROPPED:
            return f"{self.course.label}, was {self.before}"
        return self.course.label


def compared(before: Iterable[RegionGrade], after: Iterable[RegionGrade]) -> tuple[Step, ...]:
    """
    Every side graded then or now, as regions are ordered.

    A region graded as a whole then and by its sides now is compared side by side with the whole.
    """
    then, now = _spread(before), _spread(after)
    order, sides = list(Region), [Side.RIGHT, Side.MIDLINE, Side.LEFT]
    both = {(region, scale) for region, scale, _ in (*then, *now)}
    keys = [
        (region, scale, side)
        for region, scale in both
        for side in _sides_compared(region, scale, then, now)
    ]
    keys.sort(key=lambda key: (order.index(key[0]), list(Scale).index(key[1]), sides.index(key[2])))
    return tuple(
        Step(
            region,
            side,
            scale,
            _graded(then, region, scale, side),
            _graded(now, region, scale, side),
        )
        for region, scale, side in keys
    )


_Spread = dict[tuple[Region, Scale, Side], int]


def _spread(grades: Iterable[RegionGrade]) -> _Spread:
    return {(row.region, row.scale, side): grade for row in grades for side, grade in row.by_side}


def _sides_compared(region: Region, scale: Scale, then: _Spread, now: _Spread) -> Iterator[Side]:
    graded = {side for side in Side if (region, scale, side) in {**then, **now}}
    if Side.MIDLINE in graded and len(graded) > 1:  # the whole of one time stands for both sides
        graded = {Side.LEFT, Side.RIGHT}
    yield from graded


def _graded(grades: _Spread, region: Region, scale: Scale, side: Side) -> int | None:
    own = grades.get((region, scale, side))
    return own if own is not None else grades.get((region, scale, Side.MIDLINE))

"""
How a treatment turned out: what is asked at its review, and what many reviews say together.

The improvement scale is a published one (`IMPROVEMENT_SCALE`). It says how one person judges one
region against the time before. Many papers count it the other way round (from memory, not checked),
so a number always goes with its word and its scheme. Who rated, patient or injector, is kept apart.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from planning.desk_figures import LEAST, Share
from planning.vocabulary import Term

LEAST_SATISFIED, MOST_SATISFIED = 0, 10
"""0 not at all satisfied, 10 fully: common practice, no source (`SATISFACTION_SCALE`)."""


class Scheme(Term):
    """Which way a number of the scale is to be read; stored with every number."""

    LOW_IS_BETTER = "gais_1_best", "Global Aesthetic Improvement Scale, 1 is best"


class Rater(Term):
    """Who judged."""

    INJECTOR = "injector", "Injector"
    PATIENT = "patient", "Patient"


class Improvement(Term):
    """A grade of the scale, the best first. `number` counts from 1."""

    VERY_MUCH = "very_much", "Very much improved"
    MUCH = "much", "Much improved"
    IMPROVED = "improved", "Improved"
    NO_CHANGE = "no_change", "No change"
    WORSE = "worse", "Worse"

    @classmethod
    def of(cls, number: int) -> Improvement:
        """
        Raises:
            ValueError: not on the scale of 1 to 5.
        """
        grades = list(cls)
        if not 1 <= number <= len(grades):
            raise ValueError(f"Grade {number} is not on the scale of 1 to {len(grades)}.")
        return grades[number - 1]

    @property
    def number(self) -> int:
        return list(Improvement).index(self) + 1

    @property
    def meaning(self) -> str:
        return _MEANINGS[self]

    @property
    def is_improved(self) -> bool:
        """Grades 1 to 3: common practice, no source; the scale has no validated cut-off."""
        return self.number <= Improvement.IMPROVED.number

    @property
    def words(self) -> str:
        """ "2 much improved"."""
        return f"{self.number} {self.label.lower()}"


_MEANINGS = {
    Improvement.VERY_MUCH: "optimal cosmetic result",
    Improvement.MUCH: "marked improvement, not optimal",
    Improvement.IMPROVED: "improvement; a touch-up may be indicated",
    Improvement.NO_CHANGE: "essentially as before the treatment",
    Improvement.WORSE: "worse than before the treatment",
}


class TopUp(Term):
    """What is decided about more of the same."""

    NONE = "none", "No top-up"
    WAIT = "wait", "Wait and look again"
    TOP_UP = "top_up", "Top up"


class Rating(NamedTuple):
    """
    What one rater said of one region at one review.

    Attributes:
        patient: whatever tells patients apart.
        review: later reviews are larger, such as (day, number).
        satisfaction: the patient's, 0 to 10, at that review; None where nobody asked.
    """

    patient: Hashable
    review: tuple[int, ...]
    grade: Improvement
    satisfaction: int | None = None


def once_a_patient(ratings: Iterable[Rating]) -> list[Rating]:
    """
    One rating of each patient: of the latest review and, of several regions there, the least
    improved. An interval over counts asks for people who do not count twice.
    """
    kept: dict[Hashable, Rating] = {}
    for rating in ratings:
        before = kept.get(rating.patient)
        if before is None or _weight(rating) > _weight(before):
            kept[rating.patient] = rating
    return list(kept.values())


def _weight(rating: Rating) -> tuple[tuple[int, ...], int]:
    return rating.review, rating.grade.number


class Spread(NamedTuple):
    """The middle of some answers, and between which two the middle half of them lies."""

    low: int
    middle: int
    high: int


@dataclass(frozen=True, slots=True)
class Outcome:
    """
    The ratings of some patients, each counted once.

    Attributes:
        counts: patients by grade, the best first.
        satisfactions: the answers of those who gave one, in any order.
    """

    counts: tuple[int, ...]
    satisfactions: tuple[int, ...] = ()

    @property
    def patients(self) -> int:
        return sum(self.counts)

    @property
    def improved(self) -> Share:
        """Those improved or better, of all rated; it has no rate where fewer than LEAST are."""
        better = sum(self.counts[grade.number - 1] for grade in Improvement if grade.is_improved)
        return Share(better, self.patients)

    @property
    def satisfaction(self) -> Spread | None:
        """None where fewer than LEAST answered."""
        return spread(self.satisfactions) if len(self.satisfactions) >= LEAST else None


def outcome_of(ratings: Iterable[Rating]) -> Outcome:
    """What the ratings of one group say, each patient counted once."""
    rows = once_a_patient(ratings)
    return Outcome(
        counts=tuple(sum(row.grade is grade for row in rows) for grade in Improvement),
        satisfactions=tuple(row.satisfaction for row in rows if row.satisfaction is not None),
    )


def spread(answers: Sequence[int]) -> Spread:
    """
    Quartiles as answers that were given: the least one that so many, or more, do not exceed (the
    inverse of the distribution of the answers).

    Raises:
        ValueError: no answer.

    Source: `QUARTILES`.
    """
    if not answers:
        raise ValueError("No answer has no middle.")
    ranked = sorted(answers)
    return Spread(*(ranked[-(-len(ranked) * quarter // 4) - 1] for quarter in (1, 2, 3)))

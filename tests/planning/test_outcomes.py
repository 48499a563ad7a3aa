"""
What many reviews say together, against general-purpose references: intervals by scipy, quartiles by
numpy. The scale's five words and their order are those of a medical lexicon's page on the Global
Aesthetic Improvement Scale.
"""

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from planning.desk_figures import LEAST
from planning.outcomes import (
    Improvement,
    Outcome,
    Rating,
    once_a_patient,
    outcome_of,
    spread,
)

BEST, MUCH, IMPROVED, SAME, WORSE = Improvement
GRADES = st.sampled_from(list(Improvement))
RATINGS = st.lists(
    st.tuples(st.integers(1, 6), st.tuples(st.integers(1, 4)), GRADES).map(
        lambda said: Rating(*said)
    ),
    max_size=20,
)


def test_the_scale_counts_from_the_best_to_the_worst() -> None:
    assert [(grade.number, grade.label) for grade in Improvement] == [
        (1, "Very much improved"), (2, "Much improved"), (3, "Improved"), (4, "No change"),
        (5, "Worse"),
    ]  # fmt: skip
    assert all(Improvement.of(grade.number) is grade for grade in Improvement)
    assert MUCH.words == "2 much improved"


@pytest.mark.parametrize("number", [0, 6, -1])
def test_a_number_beyond_the_scale_is_no_grade(number: int) -> None:
    with pytest.raises(ValueError, match="not on the scale of 1 to 5"):
        Improvement.of(number)


def test_a_patient_counts_with_the_latest_review() -> None:
    early, late = Rating("Ann", (1, 1), WORSE), Rating("Ann", (2, 7), BEST)
    assert once_a_patient([late, early]) == once_a_patient([early, late]) == [late]


def test_of_several_regions_the_least_improved_counts() -> None:
    cheek, chin = Rating("Ann", (1,), MUCH), Rating("Ann", (1,), SAME)
    assert once_a_patient([cheek, chin, Rating("Bea", (1,), BEST)]) == [
        chin, Rating("Bea", (1,), BEST),
    ]  # fmt: skip


@given(RATINGS)
def test_everybody_rated_counts_exactly_once_whatever_the_order(ratings: list[Rating]) -> None:
    outcome = outcome_of(ratings)
    assert outcome.patients == len({rating.patient for rating in ratings})
    assert outcome_of(reversed(ratings)).counts == outcome.counts


@pytest.mark.parametrize(
    "counts", [(5, 0, 0, 0, 0), (3, 9, 4, 2, 1), (0, 0, 0, 4, 3), (1, 1, 1, 2, 0)]
)
def test_the_interval_of_improved_or_better_is_wilsons(counts: tuple[int, ...]) -> None:
    outcome = Outcome(counts)
    reference = binomtest(sum(counts[:3]), sum(counts)).proportion_ci(method="wilson")
    interval = outcome.improved.interval
    assert interval is not None
    assert interval.low == pytest.approx(reference.low, abs=1e-12)
    assert interval.high == pytest.approx(reference.high, abs=1e-12)


def test_of_fewer_than_five_there_is_no_share_and_no_middle() -> None:
    few = Outcome((2, 2, 0, 0, 0), satisfactions=(7,) * (LEAST - 1))
    assert (few.improved.rate, few.improved.interval, few.satisfaction) == (None, None, None)
    enough = Outcome((2, 2, 1, 0, 0), satisfactions=(7,) * LEAST)
    assert enough.improved.rate == 1
    assert enough.satisfaction == (7, 7, 7)


def test_nobody_rated_is_no_share() -> None:
    assert outcome_of([]).improved.rate is None


@given(st.lists(st.integers(0, 10), min_size=1, max_size=60))
def test_quartiles_are_those_of_the_inverted_distribution(answers: list[int]) -> None:
    reference = numpy.quantile(answers, [0.25, 0.5, 0.75], method="inverted_cdf")
    assert spread(answers) == tuple(reference)


def test_no_answer_has_no_middle() -> None:
    with pytest.raises(ValueError, match="no middle"):
        spread([])

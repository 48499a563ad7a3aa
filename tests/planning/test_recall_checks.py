"""
Effectiveness checks of a recall.

Shares: US 21 CFR 7.42(b)(3), read second-hand. Sizes are arithmetic, rounded up. The order of the
draw was made with coreutils' sha256sum (SHA-256, FIPS 180-4).
"""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.recall_checks import Figure, Level, RecallCheckError, draw_sample, sample_size
from planning.sources import RECALL_EFFECTIVENESS, Confidence

# for i in 1 2 3 4 5 6; do printf 'RC-2026-01\x1f%s' $i | sha256sum; done, sorted
ORDER = [6, 1, 2, 5, 4, 3]


@pytest.mark.parametrize(
    ("people", "sizes"),
    [(240, [240, 24, 5, 0]), (37, [37, 4, 1, 0]), (1, [1, 1, 1, 0]), (0, [0, 0, 0, 0])],
)
def test_each_level_checks_its_share_rounded_up(people: int, sizes: list[int]) -> None:
    levels = (Level.A, Level.C, Level.D, Level.E)
    assert [sample_size(level, people) for level in levels] == sizes


@pytest.mark.parametrize(("percent", "size"), [(11, 27), (25, 60), (99, 238)])
def test_level_b_checks_the_share_it_states(percent: int, size: int) -> None:
    assert sample_size(Level.B, 240, percent) == size


@pytest.mark.parametrize("percent", [None, 0, 10, 100, -5, 250])
def test_level_b_lies_between_the_levels_around_it(percent: int | None) -> None:
    with pytest.raises(RecallCheckError, match="from 11 to 99"):
        sample_size(Level.B, 240, percent)


def test_a_share_out_of_place_is_refused() -> None:
    with pytest.raises(RecallCheckError, match=r"Level C has its own share of 10 %"):
        sample_size(Level.C, 240, 25)
    with pytest.raises(RecallCheckError):
        sample_size(Level.A, -1)


def test_the_levels_are_not_called_read_in_the_regulation() -> None:
    assert RECALL_EFFECTIVENESS.confidence is Confidence.SECOND_HAND
    assert "second-hand" in str(RECALL_EFFECTIVENESS)


def test_the_draw_is_that_of_the_published_hash() -> None:
    assert draw_sample([1, 2, 3, 4, 5, 6], 6, "RC-2026-01") == ORDER
    assert draw_sample(["1", "2", "3", "4", "5", "6"], 3, "RC-2026-01") == [
        str(each) for each in ORDER[:3]
    ]


IDS = st.lists(st.integers(1, 10**9), unique=True, max_size=40)


@given(IDS, st.text(min_size=1, max_size=12), st.data())
def test_the_order_of_the_list_does_not_matter_and_more_begins_with_less(
    ids: list[int], seed: str, data: st.DataObject
) -> None:
    everyone = draw_sample(ids, len(ids), seed)
    shuffled = data.draw(st.permutations(ids))
    size = data.draw(st.integers(0, len(ids)))
    assert sorted(everyone) == sorted(ids)
    assert draw_sample(shuffled, size, seed) == everyone[:size]


def test_another_seed_draws_others_and_nobody_is_favoured() -> None:
    ids = range(1, 101)
    times = dict.fromkeys(ids, 0)
    for draw in range(400):
        for each in draw_sample(ids, 10, f"draw {draw}"):
            times[each] += 1
    assert sum(times.values()) == 4_000
    # 40 expected, standard deviation 6: six of them either way.
    assert 4 < min(times.values()) <= max(times.values()) < 76


@pytest.mark.parametrize(
    ("ids", "size", "seed", "message"),
    [
        ([1, 2, 2], 1, "RC", "twice"),
        ([1, 2], 3, "RC", "3 cannot be drawn from a list of 2"),
        ([1, 2], -1, "RC", "cannot be drawn"),
        ([1, 2], 1, "", "needs a seed"),
    ],
)
def test_a_draw_that_cannot_be_repeated_is_refused(
    ids: list[int], size: int, seed: str, message: str
) -> None:
    with pytest.raises(RecallCheckError, match=message):
        draw_sample(ids, size, seed)


def test_the_figure_against_the_target() -> None:
    figure = Figure(checked=3, effective=2, target=5)
    assert figure.effective_share == Fraction(2, 3)
    assert (figure.outstanding, figure.is_complete) == (2, False)
    assert str(figure) == "3 of 5 checked; effective for 2 of 3 (66 %)."
    assert str(Figure(5, 5, 5)) == "5 of 5 checked; effective for 5 of 5 (100 %)."
    assert str(Figure(200, 199, 200)).endswith("(99 %).")
    assert Figure(6, 6, 5).is_complete


def test_nobody_checked_is_not_nought_per_cent() -> None:
    figure = Figure(0, 0, 5)
    assert figure.effective_share is None
    assert str(figure) == "0 of 5 checked."
    assert str(Figure(0, 0, 0)) == "No check is asked for by this level."
    assert Figure(0, 0, 0).is_complete


@pytest.mark.parametrize("counts", [(1, 2, 5), (-1, 0, 5), (1, -1, 5), (0, 0, -1)])
def test_a_figure_that_cannot_be_is_refused(counts: tuple[int, int, int]) -> None:
    with pytest.raises(RecallCheckError):
        Figure(*counts)

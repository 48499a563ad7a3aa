"""What a server answers runs on one piece of Python's stack."""

from resource import RUSAGE_THREAD, getrusage

import pytest

from clinic.stack import in_one_piece

CALLS = 50


def leaf() -> None:
    """Nothing: it only takes places on the stack, more than one step deeper takes."""


leaf.__code__ = leaf.__code__.replace(co_stacksize=100)


def loop_at(depth: int) -> int:
    """Pages of memory that were fetched for a loop of calls, so many calls deep."""
    if depth:
        return loop_at(depth - 1)
    before = getrusage(RUSAGE_THREAD).ru_minflt
    for _ in range(CALLS):
        leaf()
    return getrusage(RUSAGE_THREAD).ru_minflt - before


def test_no_depth_of_calls_makes_a_loop_fetch_memory_at_each_turn():
    # python/cpython issue 142183: at some of these depths each turn fetches a page or more.
    assert max(in_one_piece(loop_at)(depth) for depth in range(300)) < CALLS


def test_what_is_called_is_given_all_and_answers():
    assert in_one_piece(divmod)(7, 2) == (3, 1)
    assert in_one_piece(sorted)([1, 2], reverse=True) == [2, 1]
    with pytest.raises(ZeroDivisionError):
        in_one_piece(divmod)(7, 0)

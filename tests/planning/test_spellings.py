"""
Spellings one slip away, against the distance of the paper named in `planning.spellings`, computed
here by its table (optimal string alignment).
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.spellings import one_slip_from

WORDS = st.text(alphabet="abcs", min_size=4, max_size=7)


def distance(a: str, b: str) -> int:
    """Fewest letters left out, put in, exchanged or swapped with their neighbour, each once."""
    row = {(i, 0): i for i in range(len(a) + 1)} | {(0, j): j for j in range(len(b) + 1)}
    for i in range(1, len(a) + 1):
        for j in range(1, len(b) + 1):
            same = a[i - 1] == b[j - 1]
            row[i, j] = min(row[i - 1, j] + 1, row[i, j - 1] + 1, row[i - 1, j - 1] + (not same))
            if i > 1 and j > 1 and (a[i - 1], a[i - 2]) == (b[j - 2], b[j - 1]):
                row[i, j] = min(row[i, j], row[i - 2, j - 2] + 1)
    return row[len(a), len(b)]


@given(WORDS, WORDS)
def test_two_words_are_one_slip_apart_as_the_table_counts(a, b):
    assert (b in one_slip_from(a)) == (distance(a, b) == 1)


@pytest.mark.parametrize("word", ["", "ann", "1980", "كريم", "a" * 25])
def test_what_is_short_long_or_no_plain_word_has_none(word):
    assert one_slip_from(word) == frozenset()


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("jhonson", "johnson"), ("smth", "smith"), ("alvarrez", "alvarez"), ("mieer", "meier"),
     ("schmitd", "schmidt"), ("petrow", "petrov")],
)  # fmt: skip
def test_usual_slips(typed, meant):
    assert meant in one_slip_from(typed)

from fractions import Fraction

import pytest

from planning.percentages import per_cent


@pytest.mark.parametrize(
    ("share", "text"),
    [(0, "0.0 %"), (0.0124, "1.2 %"), (1, "100.0 %"), (0.0004, "< 0.1 %"), (0.001, "0.1 %")],
)
def test_a_share_in_words(share, text):
    assert per_cent(share).replace("\u00a0", " ") == text


def test_an_exact_share_reads_the_same():
    assert per_cent(Fraction(1, 24)) == per_cent(1 / 24) == "4.2\u00a0%"

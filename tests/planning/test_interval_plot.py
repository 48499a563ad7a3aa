"""Where a share and the ends of its interval are drawn; places reckoned by hand."""

import pytest

from planning.interval_plot import LEFT, RIGHT, grid, interval_mark


def test_a_share_stands_between_the_ends_of_its_interval() -> None:
    mark = interval_mark(0.5, 0.25, 1)
    assert (mark.at, mark.low, mark.high) == (100, 54, RIGHT)  # 8 + 184 x 0.5, 8 + 184 x 0.25
    assert mark.middle == 12


def test_the_scale_goes_from_nothing_to_all() -> None:
    assert grid() == (LEFT, 54, 100, 146, RIGHT)
    assert interval_mark(0, 0, 0).at == LEFT


@pytest.mark.parametrize("ends", [(0.5, 0.6, 0.7), (0.5, 0.1, 0.4), (1.1, 0.5, 1.2)])
def test_what_is_no_interval_is_not_drawn(ends: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="no interval"):
        interval_mark(*ends)

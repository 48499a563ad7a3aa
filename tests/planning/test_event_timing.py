"""
Early or delayed.

Boundary: Philipp-Dormston et al., Plast Reconstr Surg Glob Open 2020;8:e2730: delayed is more than
4 weeks (28 days) after treatment.
"""

import pytest

from planning.event_timing import Timing, timing_of


@pytest.mark.parametrize(
    ("days", "timing"),
    [(0, Timing.EARLY), (28, Timing.EARLY), (29, Timing.DELAYED), (400, Timing.DELAYED)],
)
def test_four_weeks_are_early_and_the_day_after_is_delayed(days, timing):
    assert timing_of(days) is timing


def test_signs_before_the_treatment_are_no_event_of_it():
    with pytest.raises(ValueError, match="3 days before"):
        timing_of(-3)

"""
Refill and words of an emergency.

Sources: teaching page on immediate management of vascular occlusion (3 seconds or more, or slower
than the other side); Doyon et al., Aesthet Surg J 2024 (what comes with loss of vision). The words
that are looked for are common practice, no source.
"""

import pytest

from planning.occlusion import (
    EmergencySign,
    refill_is_slow,
    seconds_text,
    tells_of_emergency,
)
from planning.occlusion_protocol import SUPPLIED_STEPS


@pytest.mark.parametrize(
    ("refill", "other", "is_slow"),
    [
        (29, None, False),
        (30, None, True),  # 3 seconds are a concern already
        (20, 20, False),
        (21, 20, True),  # slower than the other side, however quick
        (15, 40, False),
        (40, 50, True),  # 4 seconds are, whatever the other side does
    ],
)
def test_three_seconds_or_slower_than_the_other_side_is_a_concern(refill, other, is_slow):
    assert refill_is_slow(refill, other) is is_slow


@pytest.mark.parametrize(
    "text",
    [
        "She says her vision is going",
        "BLURRED on the left",
        "Double-vision since 10:02",
        "drooping lid",
        "eye pain",
        "Cannot see with the right eye",
        "one-sided weakness",
        "slurred speech",
        "seems confused",
    ],
)
def test_a_note_that_names_an_emergency_is_heard(text):
    assert tells_of_emergency(text)


@pytest.mark.parametrize(
    "text", ["", "Supervision by a colleague", "Provision of heat", "Pale, refill 4 seconds"]
)
def test_a_note_that_names_none_is_not(text):
    assert not tells_of_emergency(text)


@pytest.mark.parametrize("sign", [sign for sign in EmergencySign if sign != EmergencySign.LID])
def test_what_the_buttons_call_the_signs_is_heard_in_a_note_too(sign):
    assert tells_of_emergency(sign.label)


def test_each_supplied_step_names_its_source_and_how_it_is_known():
    known = ("published source", "read second-hand", "from memory", "common practice")
    for step in SUPPLIED_STEPS:
        assert step.title
        assert any(words in step.source for words in known), step.title


def test_the_supplied_steps_prescribe_no_dose():
    for step in SUPPLIED_STEPS:
        assert not any(f"{number} units" in step.text for number in range(1, 3000)), step.title


@pytest.mark.parametrize(
    ("tenths", "text"), [(10, "1 second"), (25, "2.5 seconds"), (30, "3 seconds")]
)
def test_seconds_are_written_without_a_trailing_zero(tenths, text):
    assert seconds_text(tenths) == text

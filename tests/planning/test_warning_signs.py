"""
How fast somebody must act on what a patient says.

The words of an emergency (loss of vision, blurred, double vision, drooping lid, eye pain, one-sided
weakness, speech, confusion): Tobalem et al., BMC Ophthalmol 2018;18:101; Singapore Med J
2016;57:438; Doyon et al., Aesthet Surg J 2024. Breath and throat: common practice, no source.
"""

import pytest

from planning.warning_signs import Haste, WarningSign, haste_of, names_an_emergency


@pytest.mark.parametrize(
    "note",
    [
        "Loss of vision on the left",
        "My sight is worse since this morning",
        "everything is BLURRED",
        "I see double",
        "Can't see with my right eye",
        "I cannot see well",
        "my eyelid droops",
        "pain behind my left eye",
        "My eye hurts a lot",
        "weak on one side",
        "Half of my face feels numb",
        "My speech is slurred",
        "trouble swallowing since noon",
        "hard to breathe",
        "She is confused",
        "my tongue swells",
        "no double vision",  # denied ones count: read twice rather than missed
    ],
)
def test_words_after_which_the_emergency_services_are_called(note):
    assert names_an_emergency(note)
    assert haste_of([], note) is Haste.EMERGENCY


@pytest.mark.parametrize(
    "note",
    ["", "A small bruise on the cheek", "It looks uneven", "Thank you, I see you on Friday",
     "The lip is swollen on both sides", "Keeping an eye on it"],
)  # fmt: skip
def test_words_that_are_none(note):
    assert not names_an_emergency(note)


@pytest.mark.parametrize(
    ("signs", "haste"),
    [
        ([WarningSign.VISION], Haste.EMERGENCY),
        ([WarningSign.LUMP, WarningSign.NERVES], Haste.EMERGENCY),
        ([WarningSign.PALE], Haste.CLINIC_NOW),
        ([WarningSign.LUMP, WarningSign.PAIN], Haste.CLINIC_NOW),
        ([WarningSign.LUMP], Haste.SOON),
        ([WarningSign.OTHER], Haste.SOON),
        ([], Haste.SOON),
    ],
)
def test_the_most_pressing_sign_decides(signs, haste):
    assert haste_of(signs) is haste


def test_every_sign_but_what_is_only_unsightly_has_a_source():
    bare = {sign for sign in WarningSign if sign.source is None}
    assert bare == {WarningSign.LUMP, WarningSign.OTHER}

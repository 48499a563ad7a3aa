"""
The length of text messages.

Expected values: 3GPP TS 23.038, 6.2.1 (alphabet: 128 septets with the escape), 6.2.3 (UCS2);
3GPP TS 23.040, 9.2.3.24.1: 160 septets or 70 units in one message, 153 or 67 in each of several.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.text_messages import ALPHABET, EXTENSION, length_of


def test_the_alphabet_has_the_signs_of_the_standard():
    # 128 codes, one of which is the escape to the ten signs (with form feed) of the extension.
    assert (len(ALPHABET), len(EXTENSION)) == (127, 10)


@pytest.mark.parametrize(
    ("text", "counted", "parts"),
    [
        ("", 0, 0),
        ("a", 1, 1),
        ("a" * 160, 160, 1),
        ("a" * 161, 161, 2),
        ("a" * 306, 306, 2),
        ("a" * 307, 307, 3),
        ("€" * 80, 160, 1),
        ("€" * 81, 162, 2),
        # An escape and its sign are not parted: 152 and one left over.
        ("a" * 152 + "€" + "a" * 152, 306, 3),
        ("ж" * 70, 70, 1),
        ("ж" * 71, 71, 2),
        ("ж" * 134, 134, 2),
        ("ж" * 135, 135, 3),
        ("😀" * 35, 70, 1),
        ("😀" * 36, 72, 2),
        # Nor the two halves of a sign beyond the first plane: 33 fit into 67.
        ("😀" * 67, 134, 3),
    ],
)
def test_parts_are_those_of_the_standard(text, counted, parts):
    length = length_of(text)
    assert (length.counted, length.parts) == (counted, parts)


def test_one_strange_sign_makes_the_whole_text_wide():
    length = length_of("ł" + "a" * 70)
    assert (length.parts, length.strange, length.room) == (2, ("ł",), 134)


@pytest.mark.parametrize(("text", "room"), [("", 160), ("a", 160), ("a" * 161, 306), ("ж", 70)])
def test_room_is_what_so_many_parts_hold(text, room):
    assert length_of(text).room == room


@given(st.text(max_size=400))
def test_another_sign_never_makes_it_shorter(text):
    assert length_of(text + "a").parts >= length_of(text).parts

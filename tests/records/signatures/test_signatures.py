"""
A signature is whole numbers on a pad of 600 by 200, and is drawn as it was made.

The path of the drawing is read by the rules of SVG 1.1, chapter 8.3: M moves, L draws, h0 is a dot.
"""

import json

import pytest
from django.core.exceptions import ValidationError

from records.signatures.drawing import signature_svg
from records.signatures.forms import SignatureField
from records.signatures.validators import MOST_POINTS, signature_text, strokes_of


def test_what_was_drawn_is_kept_without_blanks():
    assert signature_text("[ [[0, 0], [600, 200]], [[5, 5]] ]") == "[[[0,0],[600,200]],[[5,5]]]"
    assert strokes_of("[[[0,0],[600,200]],[[5,5]]]") == [[(0, 0), (600, 200)], [(5, 5)]]


def test_an_empty_pad_is_no_signature():
    assert [signature_text(text) for text in ("", "[]")] == ["", ""]
    assert signature_svg("", "Signature") == ""


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ("[[[0,0]", "did not arrive whole"),
        ("[" * 100_000, "did not arrive whole"),
        ("{}", "did not arrive whole"),
        ("[[]]", "did not arrive whole"),
        ("[[[1,2,3]]]", "did not arrive whole"),
        ("[[[1.5,2]]]", "did not arrive whole"),
        ("[[[true,2]]]", "did not arrive whole"),
        ("[[[NaN,2]]]", "did not arrive whole"),
        ("[[[601,0]]]", "did not arrive whole"),
        ("[[[0,-1]]]", "did not arrive whole"),
        ('[["<svg onload=x>"]]', "did not arrive whole"),
        ("[[[10,10],[20,10]]]", "a dot, not a signature"),
        (json.dumps([[[0, 0], [600, 0]] * (MOST_POINTS // 2 + 1)]), "more than a signature"),
    ],
)
def test_what_no_hand_draws_is_refused(sent, said):
    with pytest.raises(ValidationError, match=said):
        signature_text(sent)


def test_the_field_refuses_a_heap_of_data_before_it_reads_it():
    with pytest.raises(ValidationError, match="more than a signature"):
        SignatureField().clean("[" * 100_001)


def test_each_stroke_is_a_line_of_the_drawing_and_a_touch_is_a_dot():
    svg = signature_svg("[[[0,0],[60,20],[600,200]],[[5,6]]]", "Signature of <Ann>")
    assert 'd="M0 0L60 20L600 200 M5 6h0"' in svg
    assert 'viewBox="0 0 600 200"' in svg
    assert "<title>Signature of &lt;Ann&gt;</title>" in svg

"""JSON with exact decimals, beside the standard library's reader."""

import json
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.amounts import plain_number
from planning.vocabulary import Measure
from records.interchange.json_text import json_text
from records.interchange.parts import amount, compact


def written(value) -> str:
    return "".join(json_text(value))


TEXTS = st.text('aZ0 "\\/\n\u00eb\u017b\u2028\U0001f600', max_size=6)
DECIMALS = st.integers().map(lambda whole: Decimal(whole).scaleb(-3))
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | TEXTS | DECIMALS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXTS, inner, max_size=4),
    max_leaves=8,
)


@given(VALUES)
@settings(max_examples=50, deadline=None)
def test_the_standard_reader_reads_what_was_written(value):
    def as_decimals(node):
        if isinstance(node, list):
            return [as_decimals(item) for item in node]
        if isinstance(node, dict):
            return {name: as_decimals(item) for name, item in node.items()}
        return Decimal(node) if isinstance(node, int) and not isinstance(node, bool) else node

    read = json.loads(written(value), parse_float=Decimal, parse_int=Decimal)
    assert read == as_decimals(value)


@given(st.integers(min_value=1, max_value=10**9), st.sampled_from(list(Measure)))
def test_an_amount_is_the_number_that_pages_show(base_units, measure):
    text = written(amount(base_units, measure)["value"]).strip()
    assert text == plain_number(base_units, measure)
    scale = 1000 if measure is Measure.VOLUME else 100
    assert Decimal(text) * scale == base_units


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (Decimal("0.2"), "0.2"),
        (Decimal("4.10"), "4.10"),  # precision, which FHIR keeps
        (Decimal("1E+3"), "1000"),
        (Decimal("1E-7"), "0.0000001"),
    ],
)
def test_a_number_keeps_its_digits_and_has_no_exponent(number, text):
    assert written(number) == f"{text}\n"


@pytest.mark.parametrize("value", [0.1, Decimal("NaN"), b"bytes", object()])
def test_what_has_no_exact_form_is_refused(value):
    with pytest.raises(TypeError, match="no exact form"):
        written({"value": value})


def test_an_object_stands_in_its_own_order_one_thing_a_line():
    assert written({"b": [1, "Zoë"], "a": {}}) == (
        '{\n  "b": [\n    1,\n    "Zoë"\n  ],\n  "a": {}\n}\n'
    )


@pytest.mark.parametrize(
    ("full", "kept"),
    [
        ({"a": None, "b": "", "c": [], "d": {}}, {}),
        ({"a": [{"b": ""}, {"c": "x"}]}, {"a": [{"c": "x"}]}),
        ({"a": False, "b": 0}, {"a": False, "b": 0}),
        ({"a": " \x00x\u0007 "}, {"a": "x"}),
        ({"a": "line\nline"}, {"a": "line\nline"}),
    ],
)
def test_what_says_nothing_is_left_out(full, kept):
    assert compact(full) == kept

"""
Strengths of lidocaine as printed.

Source: table in the US prescribing information of lidocaine for injection, per cent against mg/mL:
0.5 = 5, 1 = 10, 1.5 = 15, 2 = 20; a filler's 3 mg/mL is 0.3 %.
"""

import pytest

from planning.lidocaine_strength import (
    StrengthError,
    format_strength,
    parse_strength,
    percent_text,
)


@pytest.mark.parametrize(
    ("percent", "mg_per_ml", "ug_per_ml"),
    [
        ("0.3", "3", 3_000),
        ("0.5", "5", 5_000),
        ("1", "10", 10_000),
        ("1.5", "15", 15_000),
        ("2", "20", 20_000),
    ],
)
def test_per_cent_and_milligrams_are_the_same_strength(percent, mg_per_ml, ug_per_ml):
    assert parse_strength(f"{percent} %") == ug_per_ml
    assert parse_strength(f"{mg_per_ml} mg/mL") == ug_per_ml
    assert format_strength(ug_per_ml) == f"{percent} % ({mg_per_ml} mg/mL)"
    assert parse_strength(percent_text(ug_per_ml)) == ug_per_ml


@pytest.mark.parametrize("text", ["0,3%", " 0.3 % ", "3mg/ml", "3 MG / ML", "3,0 mg/mL"])
def test_ways_of_writing_it(text):
    assert parse_strength(text) == 3_000


@pytest.mark.parametrize("text", ["", "  ", "0", "0 %"])
def test_nothing_typed_is_no_lidocaine(text):
    assert parse_strength(text) == 0
    assert format_strength(0) == "none"
    assert percent_text(0) == ""


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("0.3", "Add the unit: 0.3 % or 0.3 mg/mL"),
        ("3", "One is ten times the other"),
        ("some", "Type a number with its unit"),
        ("-1 %", "Type a number with its unit"),
        ("3 ml", "Type a number with its unit"),
        ("101 %", "is not a strength"),
        ("0.00001 %", "is not a strength"),
        ("1,500 mg/mL", "with a point"),
        ("²%", "Type a number with its unit"),
        ("9" * 50 + "%", "Type a number with its unit"),
    ],
)
def test_what_is_not_a_strength_is_refused(text, message):
    with pytest.raises(StrengthError, match=message):
        parse_strength(text)

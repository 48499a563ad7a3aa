"""A text and its placeholders. Expected texts are written by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.merging import (
    MergeError,
    Placeholder,
    check_body,
    check_subject,
    fill,
    in_line,
    placeholders,
)

KNOWN = (
    Placeholder("name", "the patient's name", "Ann Example"),
    Placeholder("lot", "the lot number", "7741"),
    Placeholder("clinic", "our name", "Clinic", is_private=False),
    Placeholder("date", "the day it is written", "1 May 2026", is_private=False),
)


@pytest.mark.parametrize(
    ("text", "filled"),
    [
        ("Dear {name},", "Dear Ann,"),
        ("{name}{name}", "AnnAnn"),
        ("", ""),
        ("a { b } c {", "a X c {"),  # blanks inside are part of the name
        ("one } and { another", "one } and { another"),
        ("{\nname}", "{\nname}"),  # a placeholder lies on one line
        ("{{name}}", "{Ann}"),
        ("{} { }", "{} { }"),
        ("{name.__class__} costs 5 %s $name", "dots costs 5 %s $name"),
    ],
)
def test_only_what_stands_in_braces_is_filled(text, filled):
    words = {"name": "Ann", " b ": "X", "name.__class__": "dots"}
    assert fill(text, words) == filled


def test_what_is_put_in_is_not_read_again():
    assert fill("Dear {name}", {"name": "{date}", "date": "today"}) == "Dear {date}"
    assert fill("Dear {name}", {"name": r"\1 \g<0>"}) == r"Dear \1 \g<0>"


def test_a_name_from_right_to_left_is_set_apart():
    """Unicode Standard Annex 9, 2.7 Markup and Formatting: first strong isolate, pop isolate."""
    assert fill("{name}, hello", {"name": "ליאת"}) == "\u2068ליאת\u2069, hello"
    assert fill("{name}, hello", {"name": "عبد الرحمن"}) == "\u2068عبد الرحمن\u2069, hello"
    assert fill("{name}, hello", {"name": "Zoë Łęcka"}) == "Zoë Łęcka, hello"


def test_a_word_that_is_missing_is_refused():
    with pytest.raises(MergeError, match=r"There is no word for \{lot\}"):
        fill("Lot {lot}", {"name": "Ann"})


@given(st.text(), st.text())
def test_a_text_without_placeholders_stays_as_it_is_and_with_them_takes_its_words(text, word):
    plain = text.replace("{", "(").replace("}", ")")
    assert fill(plain, {}) == plain
    assert placeholders(plain) == ()
    assert fill(plain + "{name}" + plain, {"name": word}).count(word) >= 1


def test_each_placeholder_is_listed_once_in_its_order():
    assert placeholders("{lot} {name} {lot}") == ("lot", "name")


def test_an_unknown_placeholder_is_named_with_the_known_ones_and_the_nearest():
    with pytest.raises(MergeError) as refusal:
        check_body("Dear {nmae}", KNOWN)
    assert str(refusal.value) == (
        "{nmae} is not known. Did you mean {name}? Known: {name}, {lot}, {clinic}, {date}."
    )
    with pytest.raises(MergeError, match=r"\{Name\} is not known. Did you mean \{name\}"):
        check_body("Dear {Name}", KNOWN)
    with pytest.raises(MergeError, match=r"\{ab\}, \{5 mL\} are not known. Known"):
        check_body("{ab} {name} {5 mL}", KNOWN)


def test_known_placeholders_and_loose_braces_pass():
    check_body("{name} {lot} {clinic} {date} { } {} and {", KNOWN)
    check_subject("Please call {clinic}, {date}", KNOWN)


def test_a_subject_holds_nothing_about_a_person_or_product():
    with pytest.raises(MergeError) as refusal:
        check_subject("{name}: lot {lot}", KNOWN)
    assert str(refusal.value) == (
        "{name}, {lot} tell about a person or a product, and everybody on the way can read a "
        "subject. Only the text may hold that; a subject may hold {clinic}, {date}."
    )


def test_a_subject_is_one_line():
    with pytest.raises(MergeError, match="one line"):
        check_subject("Please call\nBcc: everybody", KNOWN)


@pytest.mark.parametrize(
    ("parts", "line"),
    [
        ([], ""),
        (["a"], "a"),
        (["a", "b"], "a and b"),
        (["a", "b", "a", "c"], "a, b and c"),
    ],
)
def test_several_words_in_a_line(parts, line):
    assert in_line(parts) == line

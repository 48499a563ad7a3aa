"""Ranges of lot and serial numbers, as a maker's letter names them. The rule is our own."""

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from planning.code_ranges import RangeError, Within, check_range, within

INSIDE, OUTSIDE, UNCLEAR = Within.INSIDE, Within.OUTSIDE, Within.UNCLEAR

ROWS = [
    # number, first, last, verdict, why
    ("LOT100", "LOT100", "LOT200", INSIDE, "the first is included"),
    ("LOT200", "LOT100", "LOT200", INSIDE, "the last is included"),
    ("LOT099", "LOT100", "LOT200", OUTSIDE, "one before"),
    ("LOT201", "LOT100", "LOT200", OUTSIDE, "one after"),
    ("LOT99", "LOT9", "LOT100", INSIDE, "as numbers, not as text"),
    ("LOT0150", "LOT100", "LOT200", INSIDE, "a leading zero changes no number"),
    (" LOT150 ", "LOT100", " LOT200", INSIDE, "blanks around it"),
    ("7", "7", "7", INSIDE, "a range of one"),
    ("B999", "A100", "C200", INSIDE, "the letter decides before the digits"),
    ("A099", "A100", "C200", OUTSIDE, "the first letter, but before its number"),
    ("C201", "A100", "C200", OUTSIDE, "the last letter, but after its number"),
    ("26-04A", "26-01A", "26-12F", INSIDE, "three runs"),
    ("26-12G", "26-01A", "26-12F", OUTSIDE, "the last run decides"),
    ("MOT150", "LOT100", "LOT200", OUTSIDE, "another letter"),
    ("lot150", "LOT100", "LOT200", UNCLEAR, "case"),
    ("lot250", "LOT100", "LOT200", OUTSIDE, "outside in any case"),
    ("L0T150", "LOT100", "LOT200", UNCLEAR, "a zero for the O: another build"),
    ("LOT-150", "LOT100", "LOT200", UNCLEAR, "a hyphen more"),
    ("A-150", "A/100", "A/200", UNCLEAR, "another sign"),
    ("150", "LOT100", "LOT200", UNCLEAR, "the letters left out"),
    ("LOT150A", "LOT100", "LOT200", UNCLEAR, "a letter more"),
    ("AB5", "A1", "C9", UNCLEAR, "two letters where the ends have one"),
    ("", "A1", "C9", UNCLEAR, "no number"),
    ("٧", "1", "9", UNCLEAR, "only the digits 0 to 9 count as digits"),
]


@pytest.mark.parametrize(("number", "first", "last", "verdict", "why"), ROWS)
def test_where_a_number_lies(number: str, first: str, last: str, verdict: Within, why: str) -> None:
    assert within(number, first, last) is verdict, why


@pytest.mark.parametrize(
    ("first", "last", "message"),
    [
        ("", "LOT200", "Type both the first and the last"),
        ("LOT100", " ", "Type both the first and the last"),
        ("LOT100", "L200", "are built differently"),
        ("LOT100", "LOT200A", "are built differently"),
        ("LOT200", "LOT100", "“LOT100” comes before “LOT200”"),
        ("B1", "A9", "type the first number first"),
    ],
)
def test_two_ends_that_make_no_range_are_refused(first: str, last: str, message: str) -> None:
    with pytest.raises(RangeError, match=message):
        check_range(first, last)
    with pytest.raises(RangeError, match=message):
        within("LOT150", first, last)


WHOLE = st.integers(0, 10**30)


@given(WHOLE, WHOLE, WHOLE, st.sampled_from(["", "LOT", "A-"]), st.integers(0, 4))
def test_behind_one_prefix_numbers_lie_as_on_a_line(
    number: int, one: int, other: int, prefix: str, zeros: int
) -> None:
    first, last = sorted((one, other))
    verdict = within(f"{prefix}{'0' * zeros}{number}", f"{prefix}{first}", f"{prefix}{last}")
    assert (verdict is INSIDE) == (first <= number <= last)
    assert verdict is not UNCLEAR


CODES = st.text(alphabet="AB-O019", min_size=1, max_size=5)


@given(CODES, CODES, CODES)
@example("A", "A", "B")  # B is read as 8, so that what is folded makes no range
def test_an_end_is_inside_and_what_is_not_inside_is_said_so_with_care(
    number: str, first: str, last: str
) -> None:
    try:
        check_range(first, last)
    except RangeError as refusal:
        assume(first != last)
        assert str(refusal).endswith(".")  # noqa: PT017 - some pairs make a range, some do not
        return
    assert within(first, first, last) is INSIDE
    assert within(last, first, last) is INSIDE
    # Written in small letters it may be the same lot: never "outside" because of that.
    if within(number, first, last) is INSIDE and number != number.lower():
        assert within(number.lower(), first, last) is not OUTSIDE

"""Amounts as shown and as typed. Each row names the list that asks for it."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.amounts import (
    LARGEST_WHOLE,
    AmountError,
    LossyAmountError,
    format_amount,
    parse_amount,
    plain_number,
)
from planning.vocabulary import Measure

JC = "Joint Commission, Do Not Use list, 2018"
ISMP = "ISMP list of error-prone dose designations, extract of 2006"
UNSOURCED = "common practice, no source"

SHOWN = [
    # amount in the base unit, measure, text, why
    (500, Measure.VOLUME, "0.5 mL", f"{JC}: no trailing zero (0.50)"),
    (1_000, Measure.VOLUME, "1 mL", f"{JC}: no trailing zero (1.0)"),
    (10_000, Measure.VOLUME, "10 mL", f"{JC}: 10 keeps its own zero"),
    (50, Measure.VOLUME, "0.05 mL", f"{JC}: leading zero (.05)"),
    (1, Measure.VOLUME, "0.001 mL", "smallest volume kept"),
    (1_000_000, Measure.VOLUME, "1,000 mL", f"{ISMP}: comma at 1,000"),
    (999_000, Measure.VOLUME, "999 mL", f"{ISMP}: no comma below 1,000"),
    (400, Measure.DOSE, "4 units", f"{JC}: unit in full, no trailing zero (4.0)"),
    (100, Measure.DOSE, "1 unit", "English singular"),
    (250, Measure.DOSE, "2.5 units", f"{JC}: no trailing zero (2.50)"),
    (50, Measure.DOSE, "0.5 units", f"{JC}: leading zero (.5)"),
    (100_000, Measure.DOSE, "1,000 units", f"{ISMP}: comma at 1,000"),
    (10_000_000, Measure.DOSE, "100,000 units", f"{ISMP}: 100000 units is misread"),
    (123_456, Measure.DOSE, "1,234.56 units", f"{ISMP}: comma, decimals stay"),
    (0, Measure.VOLUME, "0 mL", "nothing remaining"),
    (-200, Measure.VOLUME, "\u22120.2 mL", "left less than right"),
]


@pytest.mark.parametrize(("amount", "measure", "text", "why"), SHOWN)
def test_an_amount_is_shown_as_the_safe_notation_lists_ask(
    amount: int, measure: Measure, text: str, why: str
) -> None:
    assert format_amount(amount, measure) == text, why


def test_number_and_unit_stay_on_one_line_when_asked() -> None:
    assert format_amount(200, Measure.VOLUME, no_break=True) == "0.2\u00a0mL"


TYPED = [
    ("0.2", Measure.VOLUME, 200, "as shown"),
    (".2", Measure.VOLUME, 200, f"{JC}: accepted when typed, shown with its zero"),
    ("0,2", Measure.VOLUME, 200, f"{UNSOURCED}: decimal comma"),
    ("0,125", Measure.VOLUME, 125, f"{UNSOURCED}: a group of thousands never begins with 0"),
    (",05", Measure.VOLUME, 50, f"{UNSOURCED}: decimal comma"),
    (" 0.2 mL ", Measure.VOLUME, 200, "with unit"),
    ("0.2ml", Measure.VOLUME, 200, "with unit"),
    ("0.2\u00a0mL", Measure.VOLUME, 200, "copied from a page"),
    ("4cc", Measure.VOLUME, 4_000, f"{JC}: cc becomes mL"),
    ("1.0", Measure.VOLUME, 1_000, f"{JC}: shown as 1 mL"),
    ("4", Measure.DOSE, 400, "as shown"),
    ("4 units", Measure.DOSE, 400, "with unit"),
    ("1 unit", Measure.DOSE, 100, "with unit"),
    ("4U", Measure.DOSE, 400, f"{JC}: U becomes units"),
    ("4 IU", Measure.DOSE, 400, f"{JC}: IU becomes units"),
    ("2.50", Measure.DOSE, 250, f"{JC}: shown as 2.5 units"),
    ("1500", Measure.DOSE, 150_000, "hyaluronidase"),
    ("100000", Measure.DOSE, 10_000_000, "the largest"),
]


@pytest.mark.parametrize(("text", "measure", "amount", "why"), TYPED)
def test_a_typed_amount_is_read(text: str, measure: Measure, amount: int, why: str) -> None:
    assert parse_amount(text, measure) == amount, why


TWO_WAYS = "can be read in two ways"
NOT_AN_AMOUNT = "with the digits 0 to 9, such as"
REFUSED = [
    ("", Measure.VOLUME, "Type a number in mL with the digits 0 to 9, such as 0.2."),
    ("   ", Measure.DOSE, "Type a number in units with the digits 0 to 9, such as 4 or 2.5."),
    ("mL", Measure.VOLUME, NOT_AN_AMOUNT),
    ("0", Measure.VOLUME, "Type an amount above 0, such as 0.2."),
    ("0.000", Measure.VOLUME, "Type an amount above 0, such as 0.2."),
    ("-0.1", Measure.VOLUME, NOT_AN_AMOUNT),
    ("\u22120.1", Measure.VOLUME, NOT_AN_AMOUNT),
    ("+0.1", Measure.VOLUME, NOT_AN_AMOUNT),
    ("5.", Measure.VOLUME, NOT_AN_AMOUNT),
    (".", Measure.VOLUME, NOT_AN_AMOUNT),
    ("1e3", Measure.VOLUME, NOT_AN_AMOUNT),
    ("１", Measure.VOLUME, NOT_AN_AMOUNT),
    ("٣", Measure.DOSE, NOT_AN_AMOUNT),
    ("NaN", Measure.VOLUME, NOT_AN_AMOUNT),
    ("Infinity", Measure.DOSE, NOT_AN_AMOUNT),
    ("0.1.2", Measure.VOLUME, NOT_AN_AMOUNT),
    ("0,1,2", Measure.VOLUME, NOT_AN_AMOUNT),
    ("0. 2", Measure.VOLUME, NOT_AN_AMOUNT),
    ("1 000", Measure.DOSE, NOT_AN_AMOUNT),
    ("02", Measure.VOLUME, NOT_AN_AMOUNT),
    ("½", Measure.VOLUME, NOT_AN_AMOUNT),
    ("0.2 mg", Measure.VOLUME, NOT_AN_AMOUNT),
    ("mL 0.2", Measure.VOLUME, NOT_AN_AMOUNT),
    ("0.0001", Measure.VOLUME, "Type at most 3 digits after the point"),
    ("0.0000", Measure.VOLUME, "Type at most 3 digits after the point"),
    ("2.125", Measure.DOSE, "Type at most 2 digits after the point"),
    ("1,500", Measure.DOSE, f"“1,500” {TWO_WAYS}: type 1500, or 1.5 with a point."),
    ("1,000", Measure.VOLUME, TWO_WAYS),
    ("100001", Measure.VOLUME, "is too large: type a number up to 100,000"),
    ("9" * 40, Measure.VOLUME, "is too large"),
    ("9" * 5_000, Measure.VOLUME, NOT_AN_AMOUNT),
    (" " * 100_000 + "0.2", Measure.VOLUME, NOT_AN_AMOUNT),
    ("4 mL", Measure.DOSE, "counted in units, not mL: type the units"),
    ("0.2 units", Measure.VOLUME, "counted in mL, not units: type the mL"),
    ("cc", Measure.DOSE, "counted in units, not mL"),
]


@pytest.mark.parametrize(("text", "measure", "message"), REFUSED)
def test_what_is_not_an_amount_is_refused_with_what_to_type(
    text: str, measure: Measure, message: str
) -> None:
    with pytest.raises(AmountError) as refusal:
        parse_amount(text, measure)
    assert message in str(refusal.value)
    assert len(str(refusal.value)) < 200


@pytest.mark.parametrize("value", [0.2, 2, Decimal("0.2"), None, True])
def test_only_text_is_parsed(value: object) -> None:
    with pytest.raises(LossyAmountError):
        parse_amount(value, Measure.VOLUME)  # type: ignore[arg-type]


@pytest.mark.parametrize("value", [0.2, 200.0, Decimal(200), Fraction(1, 5), True])
def test_only_integers_are_shown(value: object) -> None:
    with pytest.raises(LossyAmountError):
        format_amount(value, Measure.VOLUME)  # type: ignore[arg-type]
    with pytest.raises(LossyAmountError):
        plain_number(value, Measure.VOLUME)  # type: ignore[arg-type]


SCALE = {Measure.VOLUME: 1_000, Measure.DOSE: 100}


@given(st.sampled_from(Measure), st.data())
def test_what_a_form_field_shows_is_read_back_unchanged(
    measure: Measure, data: st.DataObject
) -> None:
    amount = data.draw(st.integers(1, LARGEST_WHOLE * SCALE[measure]))
    shown = plain_number(amount, measure)
    assert parse_amount(shown, measure) == amount
    assert Fraction(shown) * SCALE[measure] == amount


@given(st.text(max_size=20), st.sampled_from(Measure))
def test_any_text_is_an_amount_above_zero_or_a_refusal(text: str, measure: Measure) -> None:
    try:
        amount = parse_amount(text, measure)
    except AmountError as refusal:
        assert str(refusal).endswith(".")  # noqa: PT017 - most texts are refused, some are not
    else:
        assert amount > 0

"""Prices, with the code of ISO 4217 before the number."""

import pytest

from planning.money import MOST, PriceError, format_price, parse_price, plain_price


@pytest.mark.parametrize(
    ("typed", "hundredths"),
    [
        ("180", 18_000),
        ("180.50", 18_050),
        (" 0.05 ", 5),
        ("1,250.00", 125_000),
        ("0", 0),
        ("275,50", 27_550),
    ],
)
def test_price_is_read_exactly(typed, hundredths):
    assert parse_price(typed) == hundredths
    assert parse_price(plain_price(hundredths)) == hundredths


@pytest.mark.parametrize(
    "typed",
    [
        "",
        "free",
        "180.5",
        "-1",
        "1e3",
        "12,34.00",
        "€180",
        "180.505",
        "１８０",
        "99999999.99",
    ],
)
def test_what_is_no_price_is_refused_with_what_to_type(typed):
    with pytest.raises(PriceError, match="Type"):
        parse_price(typed)


def test_price_is_shown_with_its_currency():
    assert format_price(125_050, "EUR") == "EUR\u00a01,250.50"
    assert format_price(MOST, "GBP") == "GBP\u00a09,999,999.99"

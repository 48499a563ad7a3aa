"""The tablet's amounts say what planning.amounts says."""

import pytest

from planning.amounts import AmountError, format_amount, parse_amount, plain_number
from planning.vocabulary import Measure

pytestmark = pytest.mark.django_db(transaction=True)

TEXTS = [
    "", " ", "0", "0.0", ".", ",", "0.2", ".2", "0,2", ",2", "00.2", "01", "1.", "1,500", "0,500",
    "1.500", "1,5", "1500", "100000", "100001", "99999.999", "0.001", "0.0001", "0.01", "0.005",
    "-1", "+1", "1e3", "1 000", "٣", "½", "0.2 mL", "0.2ml", "0.2 ML", "0.2 cc", "4 units",
    "4 UNIT", "4u", "4 iu", "mL", "units", "0.2 L", "0.2 mg", "4 units mL", "2.5 units", "1.234",
    "1.2345", "12,345", "3,75", "  7 ", "7\u00a0mL", "1" * 41, "9" * 12, "ſ", "4 K", "1.2.3",
    "1,2,3", "0,0", "0.10", "10.00 units", "1\n2", "2 millilitres",
]  # fmt: skip
SIZES = sorted(
    {*range(40), *range(0, 3_000_000, 9_973), 10, 100, 1000, 100_000, 1_000_000, 123_456_789}
)


def python_parse(text: str, measure: Measure) -> list:
    try:
        return ["amount", parse_amount(text, measure)]
    except AmountError as error:
        return ["refused", str(error)]


@pytest.mark.parametrize("measure", list(Measure))
def test_amounts_are_written_as_the_planning_service_writes_them(tab, measure):
    amounts = [*SIZES, *(-size for size in SIZES)]
    script = """async ([amounts, measure]) => {
        const { formatAmount, plain } = await import("/static/js/charting/amounts.js");
        return amounts.map((amount) => [formatAmount(amount, measure), plain(amount, measure)]);
    }"""
    expected = [[format_amount(size, measure), plain_number(size, measure)] for size in amounts]
    assert tab.run(script, [amounts, measure.value]) == expected


@pytest.mark.parametrize("measure", list(Measure))
def test_typed_text_is_read_or_refused_in_the_same_words(tab, measure):
    texts = [*TEXTS, *(plain_number(size, measure) for size in SIZES)]
    script = """async ([texts, measure]) => {
        const { AmountError, parseAmount } = await import("/static/js/charting/amounts.js");
        return texts.map((text) => {
            try {
                return ["amount", parseAmount(text, measure)];
            } catch (error) {
                return [error instanceof AmountError ? "refused" : "broken", error.message];
            }
        });
    }"""
    read = tab.run(script, [texts, measure.value])
    expected = [python_parse(text, measure) for text in texts]
    assert [row for row in zip(texts, read, expected, strict=True) if row[1] != row[2]] == []


@pytest.mark.parametrize("amount", [0.2, "2", None])
def test_amount_that_is_no_integer_is_an_error(tab, amount):
    script = """async (amount) => {
        const { formatAmount } = await import("/static/js/charting/amounts.js");
        try {
            return formatAmount(amount, "volume");
        } catch (error) {
            return error.name;
        }
    }"""
    assert tab.run(script, amount) == "TypeError"


def test_one_unit_is_not_read_out_in_the_plural(tab):
    script = """async (texts) => {
        const { readoutOf } = await import("/static/js/charting/keypad.js");
        return texts.map((text) => readoutOf(text, "dose").textContent);
    }"""
    assert tab.run(script, ["1", "1.5", ""]) == ["1 unit", "1.5 units", "– units"]

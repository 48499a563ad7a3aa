"""The tablet asks about an amount what planning.plausibility asks, and draws to the same line."""

import random

import pytest

from planning.dilution import at_marking
from planning.plausibility import amount_doubt, diluent_doubt
from planning.vocabulary import ProductKind

pytestmark = pytest.mark.django_db(transaction=True)

CHANCE = random.Random(11)  # noqa: S311
NUMBERS = [
    1,
    10,
    20,
    40,
    49,
    50,
    100,
    200,
    400,
    500,
    1_000,
    1_001,
    2_000,
    2_001,
    4_000,
    10_000,
    99_000,
]


def test_amounts_are_doubted_in_the_same_words(tab):
    """Three thousand random amounts, with and without what is known around them."""
    rows = [
        {
            "amount": CHANCE.choice([*NUMBERS, CHANCE.randint(1, 30_000)]),
            "kind": CHANCE.choice(list(ProductKind)).value,
            "content": CHANCE.choice([0, 1_000, 5_000, 10_000]),
            "usual": CHANCE.choice([None, 200, 400, 500, 1_000]),
            "diluent_ul": CHANCE.choice([None, 1_250, 2_500, 3_000]),
        }
        for _ in range(3_000)
    ]
    script = """async (rows) => {
        const { amountDoubt } = await import("/static/js/charting/plausibility.js");
        return rows.map(({ amount, ...about }) => amountDoubt(amount, about));
    }"""
    expected = [amount_doubt(**row | {"kind": ProductKind(row["kind"])}) for row in rows]
    assert tab.run(script, rows) == [
        doubt and {"text": doubt.text, "instead": doubt.instead} for doubt in expected
    ]
    assert 500 < sum(map(bool, expected)) < 2_500


def test_diluents_are_doubted_in_the_same_words(tab):
    rows = [[volume, usual] for volume in NUMBERS for usual in (None, 1_250, 2_500)]
    script = """async (rows) => {
        const { diluentDoubt } = await import("/static/js/charting/plausibility.js");
        return rows.map(([volume, usual]) => diluentDoubt(volume, usual));
    }"""
    expected = [diluent_doubt(volume, usual_ul=usual) for volume, usual in rows]
    assert tab.run(script, rows) == [
        doubt and {"text": doubt.text, "instead": doubt.instead} for doubt in expected
    ]


def test_a_dose_is_drawn_to_the_same_line(tab):
    rows = [
        [dose, content, diluent]
        for dose in (25, 100, 130, 200, 250, 400, 500, 1_000, 2_000, 3_333)
        for content in (5_000, 10_000, 20_000)
        for diluent in (1_000, 1_250, 2_500, 3_000, 4_000)
    ]
    script = """async (rows) => {
        const { drawFor } = await import("/static/js/charting/tray.js");
        return rows.map(([dose, content, diluent_ul]) => drawFor(dose, { content, diluent_ul }));
    }"""
    assert tab.run(script, rows) == [
        at_marking(dose, content=content, diluent_ul=diluent, marking_ul=10).volume_ul
        for dose, content, diluent in rows
    ]

"""
Slips of the hand at entry. Contents and dilutions are those of the US cosmetic label; what counts
as a slip is common practice, no source.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.amounts import format_amount
from planning.plausibility import (
    FEWEST_FOR_USUAL,
    amount_doubt,
    diluent_doubt,
    usual_of,
)
from planning.vocabulary import ProductKind

HA, TOXIN = ProductKind.HA_FILLER, ProductKind.TOXIN
SYRINGE = {"kind": HA, "content": 1_000}
UNMADE = {"kind": TOXIN, "content": 10_000}
VIAL = UNMADE | {"diluent_ul": 2_500}

ASKED = [
    # amount, what is known, the question, what was probably meant
    (5_000, {"kind": HA, "usual": 500}, "Usual here: 0.5 mL; typed: 5 mL.", 500),
    (20, SYRINGE | {"usual": 200}, "Usual here: 0.2 mL; typed: 0.02 mL.", 200),
    (10_000, SYRINGE, "The whole unit holds 1 mL; typed: 10 mL.", 1_000),
    (4_000, SYRINGE | {"usual": 200}, "The whole unit holds 1 mL; typed: 4 mL.", 400),
    (1_001, {"kind": HA}, "More than 1 mL in one place is rare; typed: 1.001 mL.", None),
    (4_000, VIAL | {"usual": 400}, "Usual here: 4 units; typed: 40 units.", 400),
    (40, UNMADE | {"usual": 400}, "Usual here: 4 units; typed: 0.4 units.", 400),
    # 0.1 mL of a vial of 100 units in 2.5 mL holds 4 units.
    (10, VIAL, "0.1 mL of this vial holds 4 units; typed: 0.1 units.", 400),
    (10, VIAL | {"usual": 400}, "0.1 mL of this vial holds 4 units; typed: 0.1 units.", 400),
    (10, {"kind": TOXIN}, "Units are asked for, not mL; typed: 0.1 units.", None),
    (3_000, UNMADE, "More than 20 units in one place is rare; typed: 30 units.", None),
    (20_000, VIAL, "The whole unit holds 100 units; typed: 200 units.", None),
]  # fmt: skip


@pytest.mark.parametrize(("amount", "known", "text", "instead"), ASKED)
def test_an_odd_amount_is_asked_about(
    amount: int, known: dict, text: str, instead: int | None
) -> None:
    doubt = amount_doubt(amount, **known)
    assert doubt is not None
    assert (doubt.text, doubt.instead) == (text, instead)


PLAUSIBLE = [
    (200, SYRINGE),
    (1_000, SYRINGE),
    (26, SYRINGE | {"usual": 200}),
    (1_500, {"kind": HA, "content": 2_000, "usual": 800}),
    (400, VIAL),
    (50, VIAL),
    (250, VIAL | {"usual": 400}),
    (2_000, VIAL),
    (3_100, VIAL | {"usual": 2_000}),
    (150_000, {"kind": ProductKind.HYALURONIDASE, "content": 150_000}),
    (5_000, {"kind": ProductKind.ANAESTHETIC}),
]


@pytest.mark.parametrize(("amount", "known"), PLAUSIBLE)
def test_a_plausible_amount_costs_no_touch(amount: int, known: dict) -> None:
    assert amount_doubt(amount, **known) is None


DILUENTS = [
    # Dilution guides: 100 units in 2.5 mL, 50 units in 1.25 mL.
    (2_500, None, None, None),
    (1_250, None, None, None),
    (99_000, None, "Published dilutions take 1 mL to 5 mL; typed: 99 mL.", None),
    (25_000, None, "Published dilutions take 1 mL to 5 mL; typed: 25 mL.", 2_500),
    (250, None, "Published dilutions take 1 mL to 5 mL; typed: 0.25 mL.", 2_500),
    # A vial of 50 units made up like one of 100: half the strength; the other way: twice.
    (2_500, 1_250, "Usual here for this product: 1.25 mL; typed: 2.5 mL. The strength changes "
     "with it.", 1_250),
    (1_250, 2_500, "Usual here for this product: 2.5 mL; typed: 1.25 mL. The strength changes "
     "with it.", 2_500),
    (2_000, 2_500, None, None),
]  # fmt: skip


@pytest.mark.parametrize(("volume", "usual", "text", "instead"), DILUENTS)
def test_an_odd_volume_of_diluent_is_asked_about(
    volume: int, usual: int | None, text: str | None, instead: int | None
) -> None:
    doubt = diluent_doubt(volume, usual_ul=usual)
    assert (doubt and doubt.text, doubt and doubt.instead) == (text, instead)


def test_the_usual_amount_is_the_middle_one_of_enough() -> None:
    assert usual_of([200] * (FEWEST_FOR_USUAL - 1)) is None
    assert usual_of([100, 200, 5_000, 200, 100]) == 200
    assert usual_of([1, 2, 3, 4, 5, 6]) == 3  # the lower of two


@given(st.sampled_from(ProductKind), st.integers(1, 10**6), st.integers(1, 10**6))
def test_what_is_usual_is_never_asked_about(kind: ProductKind, usual: int, content: int) -> None:
    assert amount_doubt(usual, kind=kind, usual=usual, content=max(content, usual)) is None


@given(
    st.sampled_from(ProductKind),
    st.integers(1, 10**6),
    st.integers(0, 10**6),
    st.none() | st.integers(1, 10**6),
    st.none() | st.integers(1, 10**5),
)
def test_any_question_says_what_was_typed(
    kind: ProductKind, amount: int, content: int, usual: int | None, diluent_ul: int | None
) -> None:
    doubt = amount_doubt(amount, kind=kind, content=content, usual=usual, diluent_ul=diluent_ul)
    if doubt:
        assert f"typed: {format_amount(amount, kind.measure)}." in doubt.text
        assert doubt.instead != amount

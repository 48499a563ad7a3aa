"""Totals and balances, worked by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.totals import (
    AmountsDoNotAddError,
    OverdrawnError,
    PointAmount,
    ProductTotal,
    RegionTotal,
    UnitBalance,
    UnitTotal,
    balance,
    summarise,
    total_amount,
)
from planning.vocabulary import Measure, Side


def filler(
    amount: int, *, side: Side = Side.LEFT, unit: int = 1, region: str = "cheek"
) -> PointAmount:
    return PointAmount(
        "gel", "Firm gel", Measure.VOLUME, region, region.title(), side, unit, amount
    )


def toxin(amount: int, *, product: str = "toxin-a", unit: int = 7) -> PointAmount:
    return PointAmount(
        product, "Toxin A", Measure.DOSE, "glabella", "Glabella", Side.MIDLINE, unit, amount
    )


def test_a_unit_of_stock_balances() -> None:
    unit = balance(1_000, [200, 200, 150], [50])
    assert unit == UnitBalance(content=1_000, drawn=550, wasted=50)
    assert unit.remaining == 400


def test_a_unit_can_be_emptied_but_not_overdrawn() -> None:
    assert balance(1_000, [1_000], []).remaining == 0
    with pytest.raises(OverdrawnError) as refusal:
        balance(1_000, [600, 300], [101])
    assert refusal.value.missing == 1


@pytest.mark.parametrize(
    ("content", "draws", "wastes"), [(0, [], []), (-1, [], []), (10, [0], []), (10, [], [-1])]
)
def test_an_impossible_balance_is_refused(
    content: int, draws: list[int], wastes: list[int]
) -> None:
    with pytest.raises(ValueError, match="must be above 0"):
        balance(content, draws, wastes)


amounts = st.lists(st.integers(1, 500), max_size=8)


@given(st.integers(1, 3_000), amounts, amounts)
def test_content_is_drawn_and_wasted_and_remaining_after_any_sequence(
    content: int, draws: list[int], wastes: list[int]
) -> None:
    taken = sum(draws) + sum(wastes)
    if taken > content:
        with pytest.raises(OverdrawnError) as refusal:
            balance(content, draws, wastes)
        assert refusal.value.missing == taken - content
    else:
        unit = balance(content, draws, wastes)
        assert content == unit.drawn + unit.wasted + unit.remaining
        assert unit.remaining >= 0


def test_a_session_is_totalled_by_unit_product_region_and_side() -> None:
    totals = summarise(
        [
            filler(200, side=Side.LEFT, unit=1),
            filler(150, side=Side.RIGHT, unit=1),
            toxin(400),
            filler(100, side=Side.LEFT, unit=2),
            filler(50, side=Side.MIDLINE, unit=2, region="chin"),
            toxin(250),
        ]
    )
    assert totals.per_unit == (
        UnitTotal(1, "gel", "Firm gel", Measure.VOLUME, 350, 2),
        UnitTotal(7, "toxin-a", "Toxin A", Measure.DOSE, 650, 2),
        UnitTotal(2, "gel", "Firm gel", Measure.VOLUME, 150, 2),
    )
    assert totals.per_product == (
        ProductTotal("gel", "Firm gel", Measure.VOLUME, 500, 4),
        ProductTotal("toxin-a", "Toxin A", Measure.DOSE, 650, 2),
    )
    cheek, glabella, chin = totals.per_region_side
    assert (cheek.left, cheek.right, cheek.midline, cheek.total) == (300, 150, 0, 450)
    assert cheek.left_minus_right == 150
    assert (glabella.left, glabella.right, glabella.midline) == (0, 0, 650)
    assert chin == RegionTotal("chin", "Chin", "gel", "Firm gel", Measure.VOLUME, midline=50)


def test_two_toxins_in_one_region_stay_two_rows() -> None:
    rows = summarise([toxin(400), toxin(1_000, product="toxin-b", unit=8)]).per_region_side
    assert [(row.product_key, row.total) for row in rows] == [("toxin-a", 400), ("toxin-b", 1_000)]


def test_no_points_give_no_rows() -> None:
    assert summarise([]).per_product == ()
    assert total_amount([]) == 0


def test_volumes_add_and_doses_of_one_product_add() -> None:
    # 0.1 three times is 0.3, not 0.30000000000000004.
    assert total_amount([filler(100), filler(100), filler(100)]) == 300
    assert total_amount([toxin(400), toxin(250)]) == 650


def test_a_volume_and_a_dose_do_not_add() -> None:
    with pytest.raises(AmountsDoNotAddError, match="volume and a dose"):
        total_amount([filler(200), toxin(400)])


def test_units_of_two_products_do_not_add() -> None:
    # Units are specific to each preparation: onabotulinumtoxinA label highlights, 2019.
    with pytest.raises(AmountsDoNotAddError, match="not interchangeable"):
        total_amount([toxin(400), toxin(400, product="toxin-b")])


def test_one_unit_of_stock_holds_one_product() -> None:
    with pytest.raises(AmountsDoNotAddError, match="One unit of stock"):
        summarise([toxin(400), toxin(400, product="toxin-b")])


def test_one_product_has_one_measure() -> None:
    as_dose = PointAmount("gel", "Firm gel", Measure.DOSE, "chin", "Chin", Side.LEFT, 2, 100)
    with pytest.raises(AmountsDoNotAddError, match="both as a volume and as a dose"):
        summarise([filler(200), as_dose])


def test_a_point_without_an_amount_is_refused() -> None:
    with pytest.raises(ValueError, match="must be above 0"):
        filler(0)


points = st.builds(
    filler,
    st.integers(1, 2_000),
    side=st.sampled_from(Side),
    unit=st.integers(1, 4),
    region=st.sampled_from(["cheek", "chin", "lips"]),
)


@given(st.lists(points, max_size=30))
def test_every_table_adds_up_to_the_same_amount(session: list[PointAmount]) -> None:
    totals = summarise(session)
    used = sum(point.amount for point in session)
    assert sum(row.amount for row in totals.per_unit) == used
    assert sum(row.amount for row in totals.per_product) == used
    assert sum(row.total for row in totals.per_region_side) == used
    assert sum(row.points for row in totals.per_unit) == len(session)

"""The lot of the trace tests: used in two patients, one unit in the stock, one returned."""

import pytest

from clinic.stock.enums import MovementKind
from clinic.stock.services import take_out_of_stock
from planning.vocabulary import ProductKind
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session_with_unit,
    make_units,
    refreshed,
)  # fmt: skip


@pytest.fixture
def lot(desk, injector, owner):
    """LOT42: 0.2 and 0.3 mL in Ann, 0.5 mL in Bea; one unit on hand and one returned."""
    first, second, _, back = make_units(owner, make_product(gtin="09521234543213"), quantity=4)
    session = make_session_with_unit(injector, make_patient(desk, "Ann Example"), first)
    make_point(session, first, amount=200)
    make_point(session, first, amount=300, x_dmm=-500, technique="fanning")
    session = make_session_with_unit(injector, make_patient(desk, "Bea Example"), second)
    make_point(session, second, amount=500)
    take_out_of_stock(unit=back, kind=MovementKind.RETURNED, reason="Box damaged", actor=owner)
    return first.lot


@pytest.fixture
def namesake(owner, lot):
    """A toxin that happens to have the same lot number, unused."""
    toxin = make_product(
        "Toxin 100 units", kind=ProductKind.TOXIN, content=10_000, lidocaine_ug_per_ml=0,
        is_single_patient=False, hours_after_opening=24, gtin="09520000000004",
    )  # fmt: skip
    return make_units(owner, toxin, number=lot.number, quantity=3)[0].lot


@pytest.fixture
def points_of_one_patient(desk, injector, owner):
    """`points_of_one_patient(20)` gives a lot of which one patient got so many points."""

    def make(count: int):
        unit = make_units(
            owner, make_product(f"HA filler {count}"), number=f"N{count}", quantity=1
        )[0]
        session = make_session_with_unit(injector, make_patient(desk), unit)
        for _ in range(count):
            make_point(session, unit, amount=10)
        return refreshed(unit).lot

    return make

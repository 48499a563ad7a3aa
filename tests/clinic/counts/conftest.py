"""A cupboard with three units of a lot, and a count of it under way."""

import pytest

from clinic.counts.enums import CountScope, Way
from clinic.counts.models import StockCount
from clinic.counts.queries import compare
from clinic.counts.services.counting import see_unit, start_count
from clinic.counts.services.posting import extra_key, post_count, unit_key
from clinic.places.models import Place
from clinic.stock.models import UnitOfStock
from tests.factories import make_place, make_product, make_units

GTIN = "09521234543213"


@pytest.fixture
def cupboard(db) -> Place:
    return make_place()


@pytest.fixture
def room(db) -> Place:
    return make_place("Room 1", kind="room")


@pytest.fixture
def product(db):
    return make_product(gtin=GTIN)


@pytest.fixture
def units(owner, product, cupboard) -> list[UnitOfStock]:
    return make_units(owner, product, quantity=3, place=cupboard)


@pytest.fixture
def count(units, cupboard, injector) -> StockCount:
    return start_count(scope=CountScope.PLACE, place=cupboard, actor=injector)


@pytest.fixture
def see(injector):
    """`see(count, unit, ...)`: somebody ticks these units."""

    def tick(count: StockCount, *units: UnitOfStock) -> None:
        for unit in units:
            unit.refresh_from_db()
            see_unit(count=count, unit=unit, way=Way.TICKED, actor=injector)

    return tick


@pytest.fixture
def post(owner):
    """`post(count)`: the owner posts it with the same reason for each line."""

    def post_all(count: StockCount, why: str = "Looked into"):
        found = compare(count)
        keys = [
            *(unit_key(line.unit) for line in found.differences),
            *(extra_key(line) for line in found.extras),
        ]
        return post_count(count=count, explanations=dict.fromkeys(keys, why), actor=owner)

    return post_all

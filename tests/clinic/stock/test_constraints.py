"""What the database itself refuses, whatever path a row is written by."""

from datetime import date

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from clinic.products.models import Product
from clinic.stock.enums import MovementKind
from clinic.stock.models import Lot, StockMovement, UnitOfStock
from planning.vocabulary import ProductKind
from tests.factories import make_product, make_units


@pytest.fixture
def units(owner):
    return make_units(owner, make_product(gtin="9521234543213"))


def refused(name: str):
    return pytest.raises(IntegrityError, match=name)


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ({"kind": "vitamin"}, "product_kind_is_known"),
        ({"content": 0}, "product_content_positive"),
        ({"gtin": "9521234543213"}, "product_gtin_has_14_digits"),
        ({"units_per_pack": 0}, "product_pack_holds_something"),
        ({"keep_lowest_tenths": 20}, "product_kept_between"),
        ({"keep_lowest_tenths": 80, "keep_highest_tenths": 20}, "product_kept_between"),
    ],
)
def test_products(units, change, name):
    with refused(name), transaction.atomic():
        Product.objects.update(**change)


def test_a_gtin_is_one_product_in_whatever_length_it_is_typed(units):
    assert Product.objects.get().gtin == "09521234543213"
    with refused("gtin"), transaction.atomic():
        make_product("Other", gtin="09521234543213")
    with refused("gtin"), transaction.atomic():
        Product.objects.bulk_create(
            [Product(name="Other", kind=ProductKind.TOXIN, content=1, gtin="9521234543213")]
        )


# GS1 General Specifications 7.9, values by biip 5.2.0 and python-stdnum 2.2.
@pytest.mark.parametrize(
    ("typed", "stored"),
    [
        ("9521234543213", "09521234543213"),
        ("95212340", "00000095212340"),  # a GTIN-8
        ("0614141000012", "00614141000012"),  # twelve digits padded to thirteen
        ("19521234543210", "19521234543210"),  # the outer pack: an item of its own
        ("952 1234 54321-3", "09521234543213"),
    ],
)
def test_every_length_of_a_gtin_is_stored_with_fourteen_digits(db, typed, stored):
    make_product("Stored", gtin=typed)
    assert Product.objects.get().gtin == stored


def test_the_outer_pack_is_another_product(units):
    make_product("Box of ten", gtin="19521234543210")
    assert Product.objects.count() == 2


def test_a_product_name_is_one_product(units):
    with refused("name"), transaction.atomic():
        Product.objects.create(name="HA filler 1 mL", kind=ProductKind.TOXIN, content=1)


def test_products_without_gtin_stay_apart(units):
    make_product("One", gtin="")
    assert make_product("Other", gtin=None).gtin is None
    assert Product.objects.filter(gtin__isnull=True).count() == 2


def test_a_lot_number_is_one_lot_of_a_product(units):
    lot = units[0].lot
    with refused("lot_number_once_per_product|product_id"), transaction.atomic():
        Lot.objects.create(product=lot.product, number=lot.number, expires_on=date(2031, 1, 1))


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ({"number": ""}, "lot_has_a_number"),
        ({"quarantine_reason": "why"}, "lot_quarantine_has_a_reason"),
        ({"quarantined_at": timezone.now()}, "lot_quarantine_has_a_reason"),
    ],
)
def test_lots(units, change, name):
    with refused(name), transaction.atomic():
        Lot.objects.update(**change)


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ({"state": "opened", "drawn": 1001}, "unit_never_overdrawn"),
        ({"state": "opened", "drawn": 600, "wasted": 401}, "unit_never_overdrawn"),
        ({"state": "opened", "drawn": -1}, "unit_amounts_not_negative|drawn"),
        ({"state": "lost"}, "unit_state_is_known"),
        ({"drawn": 1}, "unit_in_stock_is_full"),
    ],
)
def test_units(units, change, name):
    with refused(name), transaction.atomic():
        UnitOfStock.objects.filter(pk=units[0].pk).update(**change)


def test_a_serial_number_is_of_one_unit_of_its_lot(units, owner):
    UnitOfStock.objects.filter(pk=units[0].pk).update(serial="SER9")
    # SQLite names the columns, PostgreSQL the rule.
    with refused("unit_serial_once_per_lot|serial"), transaction.atomic():
        UnitOfStock.objects.filter(pk=units[1].pk).update(serial="SER9")
    (other,) = make_units(owner, make_product("Other"), quantity=1)
    UnitOfStock.objects.filter(pk=other.pk).update(serial="SER9")


def test_a_unit_in_quarantine_says_why(units):
    with refused("unit_quarantine_has_a_reason"), transaction.atomic():
        UnitOfStock.objects.filter(pk=units[0].pk).update(quarantined_at=timezone.now())
    with refused("unit_quarantine_has_a_reason"), transaction.atomic():
        UnitOfStock.objects.filter(pk=units[0].pk).update(quarantine_reason="Held")


@pytest.mark.parametrize(
    ("fields", "name"),
    [
        ({"kind": "borrowed"}, "movement_kind_is_known"),
        ({"kind": MovementKind.WASTED}, "movement_loss_has_a_reason"),
        ({"kind": MovementKind.RETURNED}, "movement_loss_has_a_reason"),
        ({"kind": MovementKind.WRITTEN_OFF}, "movement_loss_has_a_reason"),
        ({"kind": MovementKind.MISSING}, "movement_loss_has_a_reason"),
        ({"kind": MovementKind.FOUND}, "movement_loss_has_a_reason"),
        ({"kind": MovementKind.MOVED}, "movement_moved_somewhere"),
    ],
)
def test_movements(units, owner, fields, name):
    with refused(name), transaction.atomic():
        StockMovement.objects.create(
            unit=units[0], amount=10, at=timezone.now(), by=owner, **fields
        )


def test_waste_beyond_what_remains_is_refused_with_the_row_that_says_so(units, owner):
    UnitOfStock.objects.filter(pk=units[0].pk).update(state="opened")
    row = {"unit": units[0], "kind": MovementKind.WASTED, "reason": "Spilt", "by": owner}
    StockMovement.objects.create(amount=600, at=timezone.now(), **row)
    with refused("unit_never_overdrawn"), transaction.atomic():
        StockMovement.objects.create(amount=401, at=timezone.now(), **row)
    assert UnitOfStock.objects.get(pk=units[0].pk).wasted == 600
    assert StockMovement.objects.filter(kind=MovementKind.WASTED).count() == 1


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE clinic_stockmovement SET amount = amount + 1",
        "DELETE FROM clinic_stockmovement",
    ],
)
def test_the_ledger_is_only_added_to(units, statement):
    with (
        pytest.raises(IntegrityError, match="append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement)
    assert StockMovement.objects.count() == 2


def test_the_ledger_is_not_replaced_or_emptied(units):
    statements = {
        "sqlite": "INSERT OR REPLACE INTO clinic_stockmovement SELECT * FROM clinic_stockmovement",
        "postgresql": "TRUNCATE clinic_stockmovement CASCADE",
    }
    connection.check_constraints()  # PostgreSQL empties no table with checks still to do
    with (
        pytest.raises(IntegrityError, match="append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statements[connection.vendor])
    assert StockMovement.objects.count() == 2

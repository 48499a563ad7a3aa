"""What the database itself refuses of a receipt, whatever path a row is written by."""

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from clinic.receiving.models import Receipt
from tests.factories import make_product, make_receipt


@pytest.fixture
def receipt(owner):
    return make_receipt(owner, make_product())


def refused(words: str):
    return pytest.raises(IntegrityError, match=words)


@pytest.mark.parametrize(
    "statement", ["UPDATE clinic_receipt SET lines = lines + 1", "DELETE FROM clinic_receipt"]
)
def test_it_stays_as_it_was_written(receipt, statement):
    with refused("append-only"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)
    assert Receipt.objects.get().lines == 1


def test_it_is_not_replaced_or_emptied(receipt):
    statements = {
        "sqlite": "INSERT OR REPLACE INTO clinic_receipt SELECT * FROM clinic_receipt",
        "postgresql": "TRUNCATE clinic_receipt CASCADE",
    }
    connection.check_constraints()  # PostgreSQL empties no table with checks still to do
    with refused("append-only"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statements[connection.vendor])
    assert Receipt.objects.count() == 1


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ({"key": ""}, "receipt_has_a_key"),
        ({"lines": 0}, "receipt_brings_something"),
        ({"first_number": 9, "last_number": 8}, "receipt_brings_something"),
    ],
)
def test_a_row_that_cannot_be_is_refused(owner, change, name):
    fields = {
        "key": "k", "lines": 1, "first_number": 1, "last_number": 2, "at": timezone.now(),
        "by": owner, **change,
    }  # fmt: skip
    with refused(name), transaction.atomic():
        Receipt.objects.create(**fields)


def test_one_key_is_one_receipt(receipt, owner):
    with refused("key"), transaction.atomic():
        Receipt.objects.create(
            key=receipt.key, lines=1, first_number=9, last_number=9, at=timezone.now(), by=owner
        )

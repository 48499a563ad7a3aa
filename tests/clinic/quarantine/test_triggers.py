"""What the database itself refuses of a quarantine, whatever path a row is written by."""

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from clinic.quarantine.models import Quarantine
from clinic.quarantine.services import lift_quarantine, place_quarantine
from tests.factories import make_product


@pytest.fixture
def standing(owner):
    span = {"lot_first": "A10", "lot_last": "A20", "serial_first": "100", "serial_last": "105"}
    quarantine = Quarantine(product=make_product("One"), reason="Letter", **span)
    return place_quarantine(quarantine=quarantine, actor=owner)


def refused(words: str):
    return pytest.raises(IntegrityError, match=words)


@pytest.mark.parametrize(
    "change",
    [
        {"lot_first": "A11"},
        {"lot_last": "A21"},
        {"lot_first": "", "lot_last": ""},
        {"serial_first": "99"},
        {"serial_last": "200"},
        {"reason": "Another"},
        {"placed_at": timezone.now()},
    ],
)
def test_it_stays_as_it_was_placed(standing, change):
    with refused("stays as it was placed"), transaction.atomic():
        Quarantine.objects.update(**change)


def test_it_stays_with_its_product_and_whoever_placed_it(standing, injector):
    for change in ({"product": make_product("Other")}, {"placed_by": injector}):
        with refused("stays as it was placed"), transaction.atomic():
            Quarantine.objects.update(**change)


def test_it_is_lifted_once(standing, owner):
    lift_quarantine(quarantine=standing, reason="Answered", actor=owner)
    for change in ({"lift_reason": "Other"}, {"lifted_at": None, "lifted_by": None,
                                              "lift_reason": ""}):  # fmt: skip
        with refused("the quarantine was lifted"), transaction.atomic():
            Quarantine.objects.update(**change)


def test_it_stays_in_the_books(standing):
    with refused("stays in the books"), transaction.atomic():
        Quarantine.objects.all().delete()
    statements = {
        "sqlite": "INSERT OR REPLACE INTO clinic_quarantine SELECT * FROM clinic_quarantine",
        "postgresql": "TRUNCATE clinic_quarantine CASCADE",
    }
    connection.check_constraints()  # PostgreSQL empties no table with checks still to do
    with refused("stays in the books"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statements[connection.vendor])
    assert Quarantine.objects.count() == 1


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ({"reason": ""}, "quarantine_has_a_reason"),
        ({"lot_last": ""}, "quarantine_lots_whole"),
        ({"lot_first": ""}, "quarantine_lots_whole"),
        ({"serial_first": "1"}, "quarantine_serials_whole"),
        ({"lifted_at": timezone.now()}, "quarantine_lifted_by_somebody"),
        ({"lift_reason": "Answered"}, "quarantine_lifted_by_somebody"),
    ],
)
def test_a_row_that_cannot_be_is_refused(owner, change, name):
    fields = {
        "product": make_product(), "lot_first": "A10", "lot_last": "A20", "reason": "Letter",
        "placed_at": timezone.now(), "placed_by": owner, **change,
    }  # fmt: skip
    with refused(name), transaction.atomic():
        Quarantine.objects.create(**fields)

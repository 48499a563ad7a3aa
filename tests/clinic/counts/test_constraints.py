"""What the database itself holds about counts, whoever writes to it."""

import pytest
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.utils import timezone

from clinic.counts.models import CountDifference, CountedExtra, CountedUnit, StockCount
from clinic.counts.services.counting import give_up
from tests.factories import make_place

NOW = timezone.now()


def refused(name: str):
    return pytest.raises(IntegrityError, match=name)


@pytest.mark.parametrize(
    ("fields", "name"),
    [
        ({"scope": "place"}, "count_place_as_its_scope_says"),
        ({"scope": "shelf"}, "count_place_as_its_scope_says"),
        ({"posted_at": NOW}, "count_posted_by_somebody"),
        ({"given_up_at": NOW}, "count_given_up_with_a_reason"),
        ({"give_up_reason": "Why"}, "count_given_up_with_a_reason"),
    ],
)
def test_counts(owner, fields, name):
    with refused(name), transaction.atomic():
        StockCount.objects.create(
            **{"scope": "everything", "started_at": NOW, "started_by": owner} | fields
        )


def test_a_count_of_everything_is_of_no_place(owner):
    with refused("count_place_as_its_scope_says"), transaction.atomic():
        StockCount.objects.create(
            scope="everything", place=make_place(), started_at=NOW, started_by=owner
        )


def test_a_count_ends_once(count, owner):
    end = {
        "posted_at": NOW, "posted_by": owner, "given_up_at": NOW, "given_up_by": owner,
        "give_up_reason": "Why",
    }  # fmt: skip
    with refused("count_ends_once"), transaction.atomic():
        StockCount.objects.filter(pk=count.pk).update(**end)


@pytest.mark.parametrize("scope", ["place", "nowhere", "everything"])
def test_one_at_a_time(owner, scope):
    place = make_place() if scope == "place" else None
    row = {"scope": scope, "place": place, "started_at": NOW, "started_by": owner}
    StockCount.objects.create(**row)
    with refused(r"count_one_at_a_time|scope|place_id"), transaction.atomic():
        StockCount.objects.create(**row)


def seen(count, unit, **fields) -> CountedUnit:
    row = {"way": "ticked", "at": NOW, "by": count.started_by, **fields}
    return CountedUnit.objects.create(count=count, unit=unit, **row)


def extra(count, **fields) -> CountedExtra:
    row = {"gtin": "09521234543220", "number": "X1", "quantity": 1, "at": NOW,
           "by": count.started_by, **fields}  # fmt: skip
    return CountedExtra.objects.create(count=count, **row)


def test_a_unit_is_seen_once(count, units):
    seen(count, units[0])
    with refused(r"counted_unit_once|unit_id"), transaction.atomic():
        seen(count, units[0])
    with refused("counted_unit_way_is_known"), transaction.atomic():
        seen(count, units[1], way="guessed")


@pytest.mark.parametrize(
    ("fields", "name"),
    [
        ({"gtin": ""}, "counted_extra_is_something"),
        ({"quantity": 0}, "counted_extra_quantity"),
        ({"quantity": 501}, "counted_extra_quantity"),
        ({"serial": "S1", "quantity": 2}, "counted_extra_serial_is_of_one"),
    ],
)
def test_extras(count, fields, name):
    with refused(name), transaction.atomic():
        extra(count, **fields)


def test_a_lot_in_nobodys_books_has_one_line(count, product):
    extra(count)
    with refused(r"counted_extra_once_per_gtin|gtin"), transaction.atomic():
        extra(count)
    extra(count, product=product, gtin="")
    with refused(r"counted_extra_once_per_lot|product_id"), transaction.atomic():
        extra(count, product=product, gtin="")


def test_a_difference_is_explained(count, units, owner):
    with refused("count_difference_is_explained"), transaction.atomic():
        CountDifference.objects.create(
            count=count, unit=units[0], movement=units[0].movements.get(), explanation=""
        )


@pytest.fixture
def closed(count, units, see, product):
    see(count, units[0])
    extra(count)
    give_up(count=count, reason="Fire alarm", actor=count.started_by)
    return count


CHANGES = [
    "UPDATE clinic_stockcount SET give_up_reason = 'Other'",
    "UPDATE clinic_countedunit SET way = 'scanned'",
    "DELETE FROM clinic_countedunit",
    "UPDATE clinic_countedextra SET quantity = 2",
    "DELETE FROM clinic_countedextra",
]


@pytest.mark.parametrize("statement", CHANGES)
def test_a_count_that_is_over_never_changes(closed, statement):
    with refused("posted or given up|taken back or stays"), transaction.atomic():
        connection.cursor().execute(statement)


def test_nothing_is_added_to_a_count_that_is_over(closed, units):
    with refused("the count was posted or given up"), transaction.atomic():
        seen(closed, units[1])
    with refused("the count was posted or given up"), transaction.atomic():
        extra(closed, number="X2")
    with refused("the count was posted or given up"), transaction.atomic():
        CountDifference.objects.create(
            count=closed, unit=units[0], movement=units[0].movements.get(), explanation="Why"
        )


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        ("UPDATE clinic_stockcount SET scope = 'nowhere', place_id = NULL", "stays of what"),
        ("UPDATE clinic_stockcount SET started_at = '2026-01-01 00:00:00+00'", "stays of what"),
        ("UPDATE clinic_countedunit SET way = 'scanned'", "taken back or stays"),
        ("DELETE FROM clinic_stockcount", "stays in the books"),
    ],
)
def test_what_was_started_and_seen_is_not_altered(count, units, see, statement, words):
    see(count, units[0])
    with pytest.raises(DatabaseError, match=words), transaction.atomic():
        connection.cursor().execute(statement)


@pytest.mark.parametrize(
    "statement",
    ["UPDATE clinic_countdifference SET explanation = 'x'", "DELETE FROM clinic_countdifference"],
)
def test_posted_differences_only_grow(count, units, post, statement):
    post(count)
    with refused("append-only"), transaction.atomic():
        connection.cursor().execute(statement)

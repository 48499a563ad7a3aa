"""
An opening stock list against the books: what each row means, what is wrong, and that it is taken in
once. Reading the cells is checked in tests/planning/test_stock_list.py.

GTINs have the example prefix 952 of GS1; the headings are our own.
"""

from datetime import date, datetime

import pytest
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.receiving.errors import ListRefused
from clinic.receiving.models import Receipt
from clinic.receiving.services import receive_lot
from clinic.receiving.services.list_checks import CheckedList, check_list
from clinic.receiving.services.lists import digest_of, receive_list
from clinic.stock.models import Lot, StockMovement, UnitOfStock
from planning.csv_text import CsvError
from tests.factories import (
    make_fridge,
    make_place,
    make_product,
    make_quarantine,
    make_units,
    make_user,
)
from tests.records.sessions.services.test_races import at_once

GTIN = "09521234543213"
HEADINGS = "Product,GTIN,Lot,Expiry,Quantity,Place,Serial,Received"
TODAY = date(2026, 11, 30)


@pytest.fixture
def soft(db):
    return make_product("Soft filler", gtin=GTIN)


def text(*rows: str) -> str:
    return "\n".join((HEADINGS, *rows))


def check(*rows: str) -> CheckedList:
    return check_list(text(*rows), today=TODAY)


def told(checked: CheckedList) -> list[tuple[int, str]]:
    return [(bad.number, " ".join(map(str, bad.problems))) for bad in checked.bad_rows]


def questions(checked: CheckedList) -> str:
    return "\n".join(doubt.message for doubt in checked.doubts)


def take_in(owner, *rows: str) -> tuple[Receipt, bool]:
    digest = digest_of(check_list(text(*rows), today=timezone.localdate()))
    return receive_list(text=text(*rows), digest=digest, actor=owner)


# What a row means


def test_a_product_is_found_by_its_gtin_or_its_exact_name(soft):
    cupboard = make_place("Cupboard 2")
    checked = check(
        f"Whatever they call it,{GTIN},A1,2030-06-30,3,Cupboard 2,,02/11/2026",
        'Soft filler,,A2,2030-06-30,1,"Riverside, Cupboard 2",SN-1,',
    )
    first, second = (line for _, line in checked.lines)
    assert (first.product, first.number, first.quantity, first.place) == (soft, "A1", 3, cupboard)
    assert first.received_on == date(2026, 11, 2)
    assert (second.product, second.place, list(second.serials)) == (soft, cupboard, ["SN-1"])
    assert checked.is_ready


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (
            "soft filler,,A1,2030-06-30,1,,,",
            "no product has this name. Near: Soft filler, Deep filler.",
        ),
        ("Quite another,,A1,2030-06-30,1,,,", "no product has this name."),
        (",9520000000004,A1,2030-06-30,1,,,", "GTIN “09520000000004”: no product has it."),
        (f"Deep filler,{GTIN},A1,2030-06-30,1,,,", "is that of Soft filler: one of the two"),
        ("Old filler,,A1,2030-06-30,1,,,", "no longer in use"),
        ("Soft filler,,A1,2030-06-30,1,Cupbord,,", "no place has this name. Near: Cupboard"),
        (
            "Soft filler,,A1,2030-06-30,1,Fridge,,",
            "several sites have it: write “North, Fridge” or",
        ),
        ("Soft filler,,A1,2037-06-30,1,,,", "more than 10 years away"),
        ("Soft filler,,A1,2030-06-30,1,,,2026-12-01", "this day is still to come"),
        ("Soft filler,,KNOWN,2030-07-31,1,,,", "known with the expiry 2030-06-30"),
        ("Soft filler,,KNOWN,2030-06-30,1,,SN-1,", "with this number is in the books already"),
        ("Soft filler,,Q15,2030-06-30,1,,,", "in quarantine: Notice 7."),
    ],
)
def test_a_row_that_cannot_be_taken_in_says_why(soft, owner, row, words):
    make_product("Deep filler", gtin="09520000000011")
    make_product("Old filler", is_active=False)
    make_place("Cupboard")
    for site in ("North", "South"):
        make_place("Fridge", site=site)
    receive_lot(
        product=soft, number="KNOWN", expires_on=date(2030, 6, 30), quantity=1, serials=["SN-1"],
        actor=owner,
    )  # fmt: skip
    make_quarantine(owner, soft, "Notice 7.", lot_first="Q10", lot_last="Q20")
    # "KNOWN" and "A1" are built otherwise than Q10 to Q20: what is held by that is none of this.
    ((number, message),) = told(check(row))
    assert number == 2
    assert words in message


def test_serial_numbers_in_quarantine_are_refused_row_by_row(soft, owner):
    make_quarantine(owner, soft, "Notice 7.", serial_first="100", serial_last="105")
    checked = check(
        "Soft filler,,A1,2030-06-30,1,,99,", "Soft filler,,A1,2030-06-30,1,,100,",
        "Soft filler,,A1,2030-06-30,1,,,",
    )  # fmt: skip
    assert [number for number, _ in told(checked)] == [3, 4]


def test_one_product_named_in_two_ways_cannot_have_two_expiries_of_a_lot(soft):
    checked = check(f",{GTIN},A1,2030-06-30,1,,,", "Soft filler,,A1,2030-07-31,1,,,")
    assert [number for number, _ in told(checked)] == [2, 3]
    assert "give this lot different dates" in told(checked)[0][1]


def test_an_unknown_name_is_told_once_with_the_number_of_its_rows(soft):
    make_place("Cupboard")
    checked = check(*["soft filer,,A1,2030-06-30,1,Cupbord,,"] * 3)
    assert [(one.column, one.name, one.rows, one.near) for one in checked.unknown_names] == [
        ("product", "soft filer", 3, ["Soft filler"]), ("place", "Cupbord", 3, ["Cupboard"]),
    ]  # fmt: skip
    assert "Near: Soft filler." in told(checked)[0][1]
    assert "Near: Cupboard." in told(checked)[0][1]


def test_good_rows_stand_beside_bad_ones(soft):
    checked = check(
        "Soft filler,,A 1,2030-06-30,1,,,", "Soft filler,,A2,2030-06-30,2,,,",
        "Nothing,,A3,2030-06-30,1,,,",
    )  # fmt: skip
    assert [number for number, _ in checked.lines] == [3]
    assert [number for number, _ in told(checked)] == [2, 4]
    assert (checked.rows, checked.units, checked.is_ready) == (3, 2, False)


# Questions


def test_a_lot_in_the_books_already_is_asked_about(soft, owner):
    make_units(owner, soft, number="A1", expires_on=date(2030, 6, 30))
    checked = check("Soft filler,,A1,2030-06-30,1,,,", "Soft filler,,B1,2030-06-30,1,,,")
    assert "in the books already" in questions(checked)
    assert checked.doubts[0].numbers == (2,)


def test_what_has_expired_is_asked_about_on_the_day_after(soft):
    checked = check("Soft filler,,A1,2026-11-29,1,,,", "Soft filler,,B1,2026-11-30,1,,,")
    assert "The expiry has passed" in questions(checked)
    assert checked.doubts[0].numbers == (2,)


def test_what_is_kept_cold_and_put_elsewhere_is_asked_about(soft):
    make_product("Toxin", keep_lowest_tenths=20, keep_highest_tenths=80)
    make_place("Cupboard")
    make_fridge("Fridge")
    words = questions(
        check(
            "Toxin,,A1,2030-06-30,1,Cupboard,,",
            "Toxin,,A2,2030-06-30,1,Fridge,,",
            "Toxin,,A3,2030-06-30,1,,,",
            "Soft filler,,A4,2030-06-30,1,Cupboard,,",
            "Toxin,,B5,2030-06-30,1,Cupboard,,",
        )
    )
    assert words == (
        "Toxin, in a place that is no fridge. Kept at 2 to 8\u00a0°C: put it into a fridge. "
        "See rows 2 and 6."
    )


def test_lot_numbers_that_look_alike_are_asked_about_and_never_merged(soft, owner):
    make_units(owner, soft, number="L0T42", expires_on=date(2030, 6, 30), quantity=1)
    other = make_product("Deep filler")
    make_units(owner, other, number="B0X7", quantity=1)
    checked = check(
        "Soft filler,,LOT42,2030-06-30,1,,,", "Soft filler,,BOX7,2030-06-30,1,,,",
        "Soft filler,,C1,2030-06-30,1,,,", "Soft filler,,c1,2030-06-30,1,,,",
    )  # fmt: skip
    assert "“LOT42” resembles “L0T42” of the same product" in questions(checked)
    assert questions(checked).count("resembles") == 2  # and C1 with c1, once
    assert "BOX7" not in questions(checked)
    assert len(checked.lines) == 4


# Taking it in


def test_all_rows_come_in_with_their_places_serials_and_days(soft, owner):
    cupboard = make_place("Cupboard 2")
    receipt, is_new = take_in(
        owner,
        "Soft filler,,A1,2030-06-30,3,Cupboard 2,,02/11/2026",
        f",{GTIN},A2,2030-06-30,1,,SN-1,",
    )
    assert is_new
    assert (receipt.lines, receipt.units, receipt.by) == (2, 4, owner)
    assert Lot.objects.get(number="A1").units.filter(place=cupboard).count() == 3
    assert UnitOfStock.objects.get(lot__number="A2").serial == "SN-1"
    movement = StockMovement.objects.order_by("id").first()
    assert movement.reason == "Opening stock list"
    assert timezone.localtime(movement.at) == timezone.make_aware(
        datetime(2026, 11, 2, 12)  # noqa: DTZ001
    )
    assert AuditEvent.objects.filter(action="lot.received").count() == 2


def test_the_same_list_is_taken_in_once_however_it_is_written(soft, owner):
    row = "Soft filler,,A1,2030-06-30,3,,,"
    first, _ = take_in(owner, row)
    again, is_new = receive_list(text=text(row), digest=first.key, actor=owner)
    assert (again, is_new) == (first, False)
    otherwise = f"quantity;lot;use by;gtin\n3;A1;30/06/2030;{GTIN}"
    assert digest_of(check_list(otherwise, today=TODAY)) == first.key
    assert UnitOfStock.objects.count() == 3


def test_a_list_with_a_wrong_row_brings_nothing(soft, owner):
    rows = ["Soft filler,,A1,2030-06-30,3,,,", "Soft filler,,A 2,2030-06-30,1,,,"]
    with pytest.raises(ListRefused, match="some rows are to be corrected first"):
        take_in(owner, *rows)
    assert not Lot.objects.exists()


def test_a_list_that_is_not_the_one_shown_brings_nothing(soft, owner):
    with pytest.raises(ListRefused, match="not the list that was shown"):
        receive_list(text=text("Soft filler,,A1,2030-06-30,3,,,"), digest="0" * 64, actor=owner)
    assert not Lot.objects.exists()


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        (["Soft filler,,A1,2030-06-30,1,,,"] * 10_001, "at most 10,000 rows"),
        (["Soft filler,,A1,2030-06-30,500,,,"] * 101, "at most 50,000 units"),
    ],
)
def test_more_than_one_act_takes_in_is_refused_at_once(soft, rows, words):
    with pytest.raises(CsvError, match=words):
        check(*rows)


def test_the_queries_do_not_grow_with_the_rows(soft, owner, django_assert_max_num_queries):
    rows = [f"Soft filler,,A{number},2030-06-30,1,,S{number}," for number in range(300)]
    with django_assert_max_num_queries(100) as few:
        take_in(owner, *rows[:1])
    # Databases take so many values in a statement: three times as many statements at most.
    with django_assert_max_num_queries(len(few.captured_queries) + 16):
        take_in(owner, *rows[1:])
    assert UnitOfStock.objects.count() == 300


@pytest.mark.django_db(transaction=True)
def test_a_list_confirmed_three_times_at_once_is_taken_in_once():
    owner = make_user("owner")
    make_product("Soft filler", gtin=GTIN)
    row = "Soft filler,,A1,2030-06-30,3,,,"
    answers = at_once([lambda: take_in(owner, row)] * 3)
    assert sorted(is_new for _, is_new in answers) == [False, False, True]
    assert UnitOfStock.objects.count() == 3
    assert Receipt.objects.count() == 1

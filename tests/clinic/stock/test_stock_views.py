"""The stock page and receiving."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from clinic.audit.services import acting
from clinic.quarantine.services import quarantine_lot
from clinic.stock.enums import MovementKind
from clinic.stock.models import Lot, UnitOfStock
from clinic.stock.services import lock_unit, take_out_of_stock, waste
from tests.factories import make_product, make_session_with_unit, make_units

STOCK, RECEIVE = reverse("stock-list"), reverse("receiving")


def in_days(days: int):
    return timezone.localdate() + timedelta(days=days)


def delivery(to_receive, **change) -> dict:
    return {
        "product": str(to_receive.pk), "number": "LOT42", "expires_on": in_days(400).isoformat(),
        "quantity": "3", **change,
    }  # fmt: skip


def page(client, url) -> str:
    answer = client.get(url)
    assert answer.status_code == 200
    return answer.content.decode()


# The list


def test_lots_stand_by_product_first_expired_first(signed_in, owner):
    soft, deep = make_product("Soft"), make_product("Deep")
    for product, number, days in [(soft, "S2", 300), (soft, "S1", 100), (deep, "D1", 200)]:
        make_units(owner, product, number=number, expires_on=in_days(days))
    rows = signed_in(owner).get(STOCK).context["rows"]
    assert [row.lot.number for row in rows] == ["D1", "S1", "S2"]


@pytest.mark.parametrize(
    ("days", "expired", "soon"),
    [(-1, True, False), (0, False, True), (60, False, True), (61, False, False)],
)
def test_an_expiry_day_is_usable_and_pointed_out_within_the_policys_days(
    signed_in, owner, days, expired, soon
):
    """Usable through the printed day: from memory, ISO 15223-1 symbol 5.1.4; 60 days: default."""
    make_units(owner, make_product(), expires_on=in_days(days))
    (row,) = signed_in(owner).get(STOCK).context["rows"]
    assert (row.is_expired, row.expires_soon) == (expired, soon)


def test_counts_and_waste_are_shown(signed_in, owner, injector, patient):
    units = make_units(owner, make_product(), quantity=4)
    make_session_with_unit(injector, patient, units[0])
    take_out_of_stock(unit=units[1], kind=MovementKind.WRITTEN_OFF, reason="Fell", actor=owner)
    answer = signed_in(injector).get(STOCK)
    (row,) = answer.context["rows"]
    assert (row.stock.received, row.stock.on_hand, row.stock.opened) == (4, 2, 1)
    assert answer.context["overview"]["on_hand"] == 2


@pytest.mark.parametrize(
    ("query", "numbers"),
    [
        ({}, ["GOOD", "LATE", "QUAR", "SOON"]),
        ({"q": "goo"}, ["GOOD"]),
        ({"q": "soft maker goo"}, ["GOOD"]),
        ({"q": "soft zzz"}, []),
        ({"show": "soon"}, ["SOON"]),
        ({"show": "expired"}, ["LATE"]),
        ({"show": "quarantined"}, ["QUAR"]),
        ({"show": "all"}, ["GONE", "GOOD", "LATE", "QUAR", "SOON"]),
        ({"show": "nonsense", "page": "nonsense"}, ["GOOD", "LATE", "QUAR", "SOON"]),
        ({"q": "\x00"}, ["GOOD", "LATE", "QUAR", "SOON"]),
    ],
)
def test_lots_are_found_by_words_and_state(signed_in, owner, query, numbers):
    product = make_product("Soft filler")
    for number, days in [("GOOD", 400), ("LATE", -5), ("SOON", 5), ("QUAR", 500), ("GONE", 600)]:
        units = make_units(owner, product, number=number, quantity=1, expires_on=in_days(days))
    take_out_of_stock(unit=units[0], kind=MovementKind.RETURNED, reason="Recall", actor=owner)
    quarantine_lot(lot=Lot.objects.get(number="QUAR"), reason="Notice", actor=owner)
    rows = signed_in(owner).get(STOCK, query).context["rows"]
    assert sorted(row.lot.number for row in rows) == numbers


@pytest.mark.parametrize("show", ["in_house", "all", "soon"])
def test_the_number_of_queries_does_not_grow(signed_in, owner, show, django_assert_max_num_queries):
    client = signed_in(owner)

    def fill(product):
        for number in ("A1", "B2"):
            make_units(owner, product, number=number, quantity=2, expires_on=in_days(9))

    fill(make_product("One"))
    with django_assert_max_num_queries(100) as few:
        client.get(STOCK, {"show": show})
    for name in ("Two", "Three"):
        fill(make_product(name))
    with django_assert_max_num_queries(len(few.captured_queries)):
        assert len(client.get(STOCK, {"show": show}).context["rows"]) == 6


def test_what_is_used_up_leaves_the_list_and_the_count(signed_in, owner, injector, patient):
    (unit,) = make_units(owner, make_product(), quantity=1)
    make_session_with_unit(injector, patient, unit)
    client = signed_in(owner)
    answer = client.get(STOCK)
    assert ([row.lot.number for row in answer.context["rows"]], answer.context["overview"]) == (
        ["LOT42"], {"on_hand": 0, "opened": 1, "soon": 0, "expired": 0, "quarantined": 0},
    )  # fmt: skip
    with acting(injector) as trail:
        waste(unit=lock_unit(unit.pk), amount=1000, reason="Fell", actor=injector, trail=trail)
    answer = client.get(STOCK)
    assert (answer.context["rows"], answer.context["overview"]["opened"]) == ([], 0)
    assert [row.lot.number for row in client.get(STOCK, {"show": "all"}).context["rows"]] == [
        "LOT42"
    ]


def test_an_empty_stock_says_what_to_do(signed_in, owner, injector):
    create = f'href="{reverse("product-create")}">Add a product'
    assert create in page(signed_in(owner), STOCK)
    assert create in page(signed_in(owner), RECEIVE)
    make_product()
    for url in (STOCK, RECEIVE):
        assert create not in page(signed_in(owner), url)
    assert "Receive its lot" in page(signed_in(owner), STOCK)
    assert "The practice owner receives lots" in page(signed_in(injector), STOCK)


def test_the_injector_looks_and_is_offered_no_writing(signed_in, owner, injector):
    (unit, _) = make_units(owner, make_product())
    lot_url = reverse("lot-detail", kwargs={"pk": unit.lot_id})
    unit_url = reverse("unit-detail", kwargs={"pk": unit.pk})
    for url, offered in [(STOCK, RECEIVE), (lot_url, 'id="quarantine"'), (unit_url, "take-out")]:
        assert offered in page(signed_in(owner), url)
        assert offered not in page(signed_in(injector), url)


# Receiving


def test_a_delivery_is_received_and_its_labels_are_shown(signed_in, owner):
    product = make_product()
    make_units(owner, product, number="LOT42", expires_on=in_days(400), quantity=1)
    answer = signed_in(owner).post(RECEIVE, delivery(product), follow=True)
    lot = Lot.objects.get()
    assert answer.request["PATH_INFO"] == reverse("lot-detail", kwargs={"pk": lot.pk})
    labels = [unit.label for unit in answer.context["received"]]
    assert labels == ["U000002", "U000003", "U000004"]
    assert "Labels given" in answer.content.decode()


@pytest.mark.parametrize(
    ("change", "field", "message"),
    [
        ({"number": "LOT 42"}, "number", "does not hold a blank"),
        ({"number": "LOT#42"}, "number", "does not hold"),
        ({"number": "A" * 21}, "number", "at most 20 characters"),
        ({"number": ""}, "number", "required"),
        ({"expires_on": "2027-02-31"}, "expires_on", "Type the day as"),
        ({"expires_on": ""}, "expires_on", "required"),
        ({"expires_on": "3028-01-31"}, "expires_on", "Compare the year with the box"),
        ({"expires_on": "0028-01-31"}, "expires_on", "Compare the year with the box"),
        ({"quantity": "0"}, "quantity", "at least 1"),
        ({"quantity": "501"}, "quantity", "at most 500 at once"),
        ({"quantity": "1.5"}, "quantity", "whole number"),
        ({"product": "999"}, "product", "not one of the available choices"),
    ],
)
def test_bad_input_keeps_what_was_typed(signed_in, owner, change, field, message):
    typed = delivery(make_product(), **change)
    form = signed_in(owner).post(RECEIVE, typed).context["form"]
    assert message in " ".join(form.errors[field])
    assert {name: form[name].value() for name in typed} == typed
    assert not Lot.objects.exists()


def test_a_number_that_is_too_long_is_told_once_and_never_cut_short(signed_in, owner):
    """A browser cuts what is scanned at the field's `maxlength` without a word."""
    client = signed_in(owner)
    assert 'maxlength="20"' not in page(client, RECEIVE)
    form = client.post(RECEIVE, delivery(make_product(), number="A" * 21)).context["form"]
    assert len(form.errors["number"]) == 1


def test_a_product_no_longer_in_use_is_not_received(signed_in, owner):
    product = make_product(is_active=False)
    form = signed_in(owner).post(RECEIVE, delivery(product)).context["form"]
    assert list(form.errors) == ["product"]


def test_another_expiry_of_a_known_lot_is_refused_on_the_form(signed_in, owner):
    product = make_product()
    make_units(owner, product, expires_on=in_days(100))
    form = signed_in(owner).post(RECEIVE, delivery(product)).context["form"]
    assert "Compare with the box" in " ".join(form.non_field_errors())
    assert form["number"].value() == "LOT42"


def test_a_resembling_number_is_asked_about_and_never_merged(signed_in, owner):
    product, client = make_product(), signed_in(owner)
    make_units(owner, product, number="L0T42", quantity=1)
    typed = delivery(product)

    form = client.post(RECEIVE, typed).context["form"]
    assert "“LOT42” resembles “L0T42”" in " ".join(form.errors["is_another_lot"])
    assert form["asked_number"].value() == "LOT42"
    assert UnitOfStock.objects.count() == 1

    answered = typed | {"asked_number": "LOT42", "is_another_lot": "on"}
    assert client.post(RECEIVE, answered).status_code == 302
    assert set(Lot.objects.values_list("number", flat=True)) == {"L0T42", "LOT42"}


def test_the_answer_does_not_hold_for_a_number_typed_afterwards(signed_in, owner):
    product, client = make_product(), signed_in(owner)
    for number in ("L0T42", "B0X7"):
        make_units(owner, product, number=number, quantity=1)
    typed = delivery(product, number="BOX7", asked_number="LOT42", is_another_lot="on")
    form = client.post(RECEIVE, typed).context["form"]
    assert "“BOX7” resembles “B0X7”" in " ".join(form.errors["is_another_lot"])
    assert not form["is_another_lot"].value()
    assert Lot.objects.count() == 2


def test_an_expired_lot_is_received_when_that_is_what_happened(signed_in, owner):
    product, client = make_product(), signed_in(owner)
    typed = delivery(product, expires_on=in_days(-1).isoformat())
    form = client.post(RECEIVE, typed).context["form"]
    assert "has passed" in " ".join(form.errors["is_expired_on_arrival"])
    assert not Lot.objects.exists()
    assert client.post(RECEIVE, typed | {"is_expired_on_arrival": "on"}).status_code == 302
    assert Lot.objects.get().is_expired(timezone.localdate())


def test_a_lot_that_expires_today_is_received_without_a_question(signed_in, owner):
    typed = delivery(make_product(), expires_on=in_days(0).isoformat())
    assert signed_in(owner).post(RECEIVE, typed).status_code == 302


def test_only_the_owner_receives(client, injector, desk):
    typed = delivery(make_product())
    assert client.post(RECEIVE, typed).status_code == 401
    for person in (injector, desk):
        client.force_login(person)
        assert client.post(RECEIVE, typed).status_code == 403
    assert not Lot.objects.exists()

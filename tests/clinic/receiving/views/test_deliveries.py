"""Receiving a delivery by its page: scanned or typed, asked about, received once, labelled."""

import uuid
from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from clinic.products.models import Product
from clinic.quarantine.services import quarantine_lot
from clinic.receiving.models import Receipt
from clinic.stock.models import Lot, UnitOfStock
from tests.factories import make_place, make_product, make_receipt, make_units, make_user
from tests.pdf import pdf_text

RECEIVE, DISCARD = reverse("receiving"), reverse("receiving-discard")
GTIN = "09521234543213"
CODE = f"01{GTIN}1730113010A15"  # GS1 General Specifications 7.8; example prefix 952


def in_days(days: int) -> date:
    return timezone.localdate() + timedelta(days=days)


def line(product, /, **change) -> dict:
    known = {
        "product": str(product.pk), "number": "LOT42", "expires_on": in_days(400).isoformat(),
        "quantity": "3", "place": "", "serials": "",
    }  # fmt: skip
    return known | change


def compared(typed: dict) -> dict:
    """With the ticks of somebody who looked at the box."""
    asked = f"{typed['product']}|{typed['number']}|{typed['expires_on']}"
    return typed | {"asked": asked, "is_compared": "on"}


def form(*lines: dict, act: str = "receive", **more) -> dict:
    typed = {
        f"line-{i}-{name}": value for i, one in enumerate(lines) for name, value in one.items()
    }
    management = {"line-TOTAL_FORMS": str(len(lines)), "line-INITIAL_FORMS": "0"}
    return {"key": uuid.uuid4().hex, "act": act, "scan": ""} | management | typed | more


def values(answer, index: int = 0) -> dict:
    """What stands in the fields of a line."""
    line_form = answer.context["lines"][index]
    return {name: str(line_form[name].value() or "") for name in line_form.fields}


def errors(answer, index: int = 0) -> dict[str, str]:
    found = answer.context["lines"][index].errors
    return {field: " ".join(messages) for field, messages in found.items()}


def page(client, url) -> str:
    answer = client.get(url)
    assert answer.status_code == 200
    return answer.content.decode()


@pytest.fixture
def product(db):
    return make_product("Soft filler", gtin=GTIN)


# Receiving


def test_all_lines_are_received_at_once_and_their_labels_shown(signed_in, owner, product):
    deep, client = make_product("Deep filler"), signed_in(owner)
    cupboard = make_place("Cupboard 2")
    lines = [compared(line(product, place=str(cupboard.pk))),
             compared(line(deep, number="D-1", quantity="2"))]  # fmt: skip
    answer = client.post(RECEIVE, form(*lines), follow=True)
    receipt = Receipt.objects.get()
    assert answer.request["PATH_INFO"] == reverse("receiving-labels", kwargs={"pk": receipt.pk})
    assert [(given.lot.number, given.span) for given in answer.context["lots"]] == [
        ("LOT42", "U000001 to U000003"), ("D-1", "U000004 to U000005"),
    ]  # fmt: skip
    assert "5 units received into stock." in answer.content.decode()
    assert {unit.place for unit in Lot.objects.get(number="LOT42").units.all()} == {cupboard}


def test_the_same_form_sent_twice_is_received_once(signed_in, owner, product):
    client, sent = signed_in(owner), form(compared(line(product)))
    first, second = (client.post(RECEIVE, sent, follow=True) for _ in range(2))
    assert first.request["PATH_INFO"] == second.request["PATH_INFO"]
    assert "was received already: here are its labels" in second.content.decode()
    assert UnitOfStock.objects.count() == 3


def test_what_was_added_in_another_window_is_not_taken_for_received(signed_in, owner, product):
    client, sent = signed_in(owner), form(compared(line(product)))
    client.post(RECEIVE, sent)
    more = form(line(product), compared(line(product, number="B1")), key=sent["key"])
    answer = client.post(RECEIVE, more)
    assert "3 units of this delivery are in the stock since" in answer.context["problem"]
    assert [values(answer, i)["number"] for i in range(2)] == ["LOT42", "B1"]
    assert UnitOfStock.objects.count() == 3
    rest = form(compared(line(product, number="B1")), key=answer.context["delivery"].key)
    client.post(RECEIVE, rest)
    assert UnitOfStock.objects.count() == 6


def test_one_wrong_line_keeps_all_of_them_and_what_was_typed(signed_in, owner, product):
    good, bad = compared(line(product)), line(product, number="LOT 43", quantity="x")
    answer = signed_in(owner).post(RECEIVE, form(good, bad))
    assert errors(answer) == {}
    assert set(errors(answer, 1)) == {"number", "quantity"}
    assert (values(answer, 1)["number"], values(answer, 1)["quantity"]) == ("LOT 43", "x")
    assert not Lot.objects.exists()


@pytest.mark.parametrize(
    ("change", "field", "message"),
    [
        ({"number": "LOT 42"}, "number", "does not hold a blank"),
        ({"number": "LOT#42"}, "number", "does not hold"),
        ({"number": "A" * 21}, "number", "at most 20 characters"),
        ({"number": ""}, "number", "Lot number is required"),
        ({"expires_on": "2027-02-31"}, "expires_on", "Type the day as"),
        ({"expires_on": ""}, "expires_on", "Expiry date is required"),
        ({"expires_on": "3028-01-31"}, "expires_on", "Type a year from"),
        ({"expires_on": "2940-01-31"}, "expires_on", "Compare the year with the box"),
        ({"quantity": "0"}, "quantity", "at least 1"),
        ({"quantity": "501"}, "quantity", "at most 500"),
        ({"quantity": "1.5"}, "quantity", "whole number"),
        ({"quantity": ""}, "quantity", "Quantity is required"),
        ({"product": "999"}, "product", "Choose a product that is in use"),
        ({"product": ""}, "product", "Product is required"),
        ({"place": "999"}, "place", "not one of the available choices"),
        ({"serials": "S1 é"}, "serials", "does not hold"),
        ({"serials": "S1\nS1"}, "serials", "“S1” is there twice"),
        ({"serials": "S1 S2 S3 S4"}, "quantity", "4 serial numbers for 3 units"),
    ],
)
def test_bad_input_keeps_what_was_typed(signed_in, owner, product, change, field, message):
    typed = line(product, **change)
    answer = signed_in(owner).post(RECEIVE, form(typed))
    assert message in errors(answer)[field]
    assert {name: values(answer)[name] for name in typed} == typed
    assert not Lot.objects.exists()


def test_a_number_that_is_too_long_is_told_once_and_never_cut_short(signed_in, owner, product):
    """A browser cuts what is scanned at the field's `maxlength` without a word."""
    client = signed_in(owner)
    assert 'maxlength="20"' not in page(client, RECEIVE)
    answer = client.post(RECEIVE, form(line(product, number="A" * 21)))
    assert len(answer.context["lines"][0].errors["number"]) == 1


def test_a_product_no_longer_in_use_is_not_received(signed_in, owner, product):
    Product.objects.update(is_active=False)
    make_product("Another")
    answer = signed_in(owner).post(RECEIVE, form(line(product)))
    assert list(errors(answer)) == ["product"]


def test_another_expiry_of_a_known_lot_is_refused_on_its_field(signed_in, owner, product):
    make_units(owner, product, expires_on=in_days(100))
    answer = signed_in(owner).post(RECEIVE, form(line(product)))
    assert "Compare with the box" in errors(answer)["expires_on"]


def test_what_the_stock_refuses_is_said_on_the_line(signed_in, owner, product):
    lot = make_units(owner, product, expires_on=in_days(400))[0].lot
    quarantine_lot(lot=lot, reason="Notice 7", actor=owner)
    answer = signed_in(owner).post(
        RECEIVE, form(compared(line(product, number="B1")), line(product))
    )
    assert errors(answer) == {}
    assert "in quarantine: Notice 7" in errors(answer, 1)["__all__"]
    assert UnitOfStock.objects.count() == 2


def test_nothing_filled_in_is_nothing_to_receive(signed_in, owner, product):
    blank = dict.fromkeys(line(product), "")
    for sent in (form(), form(blank), form(blank | {"place": str(make_place().pk)})):
        answer = signed_in(owner).post(RECEIVE, sent)
        assert "Nothing to receive" in answer.context["problem"]


def test_blank_lines_between_are_passed_over(signed_in, owner, product):
    blank = dict.fromkeys(line(product), "")
    signed_in(owner).post(RECEIVE, form(blank, compared(line(product)), blank))
    assert UnitOfStock.objects.count() == 3


def test_serial_numbers_stand_one_a_pack(signed_in, owner):
    product = make_product(units_per_pack=2)
    typed = compared(line(product, quantity="4", serials="S1\nS2"))
    signed_in(owner).post(RECEIVE, form(typed))
    serials = UnitOfStock.objects.order_by("id").values_list("serial", flat=True)
    assert list(serials) == ["S1", "", "S2", ""]


# What is asked


def test_a_lot_not_seen_before_is_compared_with_the_box_once(signed_in, owner, product):
    client, typed = signed_in(owner), line(product)
    answer = client.post(RECEIVE, form(typed))
    assert "Lot “LOT42” is new for this product" in errors(answer)["is_compared"]
    assert not Lot.objects.exists()
    client.post(RECEIVE, form(typed | {"asked": values(answer)["asked"], "is_compared": "on"}))
    client.post(RECEIVE, form(typed))  # known by now
    assert UnitOfStock.objects.count() == 6


def test_a_resembling_number_is_asked_about_and_never_merged(signed_in, owner, product):
    make_units(owner, product, number="L0T42", quantity=1)
    client, typed = signed_in(owner), line(product)
    answer = client.post(RECEIVE, form(typed))
    assert "“LOT42” resembles “L0T42”" in errors(answer)["is_another_lot"]
    assert UnitOfStock.objects.count() == 1
    client.post(RECEIVE, form(typed | {"asked": values(answer)["asked"], "is_another_lot": "on"}))
    assert set(Lot.objects.values_list("number", flat=True)) == {"L0T42", "LOT42"}


def test_an_answer_does_not_hold_for_a_number_typed_afterwards(signed_in, owner, product):
    typed = compared(line(product)) | {"number": "LOT43"}
    answer = signed_in(owner).post(RECEIVE, form(typed))
    assert "Lot “LOT43” is new" in errors(answer)["is_compared"]
    assert not answer.context["lines"][0]["is_compared"].value()
    assert not Lot.objects.exists()


def test_an_expired_lot_is_received_when_that_is_what_happened(signed_in, owner, product):
    client = signed_in(owner)
    typed = compared(line(product, expires_on=in_days(-1).isoformat()))
    answer = client.post(RECEIVE, form(typed))
    assert "has passed" in errors(answer)["is_expired_on_arrival"]
    client.post(RECEIVE, form(typed | {"is_expired_on_arrival": "on"}))
    assert Lot.objects.get().is_expired(timezone.localdate())


def test_a_lot_that_expires_today_is_received_without_that_question(signed_in, owner, product):
    signed_in(owner).post(RECEIVE, form(compared(line(product, expires_on=in_days(0).isoformat()))))
    assert Lot.objects.exists()


@pytest.mark.parametrize(("kind", "is_told"), [("fridge", False), ("cupboard", True), (None, True)])
def test_what_is_kept_cold_is_pointed_out_unless_it_goes_into_a_fridge(
    signed_in, owner, kind, is_told
):
    product = make_product(keep_lowest_tenths=20, keep_highest_tenths=80)
    range_ = {"lowest_tenths": 20, "highest_tenths": 80} if kind == "fridge" else {}
    place = str(make_place(kind=kind, **range_).pk) if kind else ""
    answer = signed_in(owner).post(RECEIVE, form(line(product, place=place), act="check"))
    assert ("Kept at 2 to 8" in answer.content.decode()) == is_told


# Scanning


def test_a_code_becomes_a_line_and_the_rest_stays_as_typed(signed_in, owner, product):
    typed = line(product, number="", quantity="x")
    answer = signed_in(owner).post(RECEIVE, form(typed, act="check", scan=CODE))
    assert {name: values(answer)[name] for name in typed} == typed
    added = values(answer, 1)
    assert (added["number"], added["quantity"], added["expires_on"]) == ("A15", "1", "2030-11-30")
    text = answer.content.decode()
    assert '<p class="pack__lot">A15</p>' in text
    assert "Compare it with the box" in text
    assert errors(answer) == {}  # nothing is said of a line that is still being typed


def test_several_codes_come_along_at_once(signed_in, owner, product):
    sent = form(act="check") | {"scan": [CODE, CODE, ""]}
    assert values(signed_in(owner).post(RECEIVE, sent))["quantity"] == "2"


def test_only_the_part_below_the_field_comes_back_for_htmx(signed_in, owner, product):
    client, headers = signed_in(owner), {"HX-Request": "true"}
    text = client.post(RECEIVE, form(act="check", scan=CODE), headers=headers).content.decode()
    assert text.lstrip().startswith('<div class="stack stack--loose" id="delivery">')
    answer = client.post(RECEIVE, form(compared(line(product))), headers=headers)
    assert answer["HX-Redirect"] == reverse("receiving-labels", args=[Receipt.objects.get().pk])


def test_a_code_left_in_the_field_is_added_and_nothing_received_yet(signed_in, owner, product):
    answer = signed_in(owner).post(RECEIVE, form(compared(line(product)), scan=CODE))
    assert "still in the field" in answer.context["problem"]
    assert values(answer, 1)["number"] == "A15"
    assert not Lot.objects.exists()


def test_lines_are_added_and_removed_by_hand(signed_in, owner, product):
    client = signed_in(owner)
    answer = client.post(RECEIVE, form(line(product), act="add"))
    assert [values(answer, i)["number"] for i in range(2)] == ["LOT42", ""]
    lines = [line(product, number=number) for number in ("L1", "L2", "L3")]
    answer = client.post(RECEIVE, form(*lines, act="remove-1"))
    assert [one["number"].value() for one in answer.context["lines"]] == ["L1", "L3"]
    for act in ("remove-9", "remove-x", "remove-", "nonsense"):
        assert len(client.post(RECEIVE, form(*lines, act=act)).context["lines"]) == 3


def test_an_unknown_product_leads_to_a_new_one_and_back_to_the_delivery(signed_in, owner, product):
    client = signed_in(owner)
    code = "010952000000001117301130" + "10NEW"
    sent = form(line(product, quantity="7"), act="check", scan=code)
    answer = client.post(RECEIVE, sent)
    assert "No product has the GTIN 09520000000011" in answer.content.decode()
    assert 'name="new_product"' in answer.content.decode()

    changed = form(line(product, quantity="8"), act="", new_product=code)
    away = client.post(RECEIVE, changed)
    new = client.get(away["Location"]).context["form"]
    assert new["gtin"].value() == "09520000000011"
    typed = {
        "name": "New filler", "maker": "Example Maker", "kind": "ha_filler", "content": "1",
        "gtin": "09520000000011", "units_per_pack": "2", "is_active": "on",
    }  # fmt: skip
    answer = client.post(away["Location"], typed, follow=True)
    assert answer.request["PATH_INFO"] == RECEIVE
    assert not answer.request["QUERY_STRING"]
    lines = [(one["number"].value(), one["quantity"].value()) for one in answer.context["lines"]]
    assert lines == [("LOT42", "8"), ("NEW", "2")]


def test_a_code_of_the_address_is_added_once_however_often_the_page_is_loaded(
    signed_in, owner, product
):
    client = signed_in(owner)
    answer = client.get(RECEIVE, {"scan": CODE}, follow=True)
    assert values(answer)["quantity"] == "1"
    assert '<p class="pack__lot">A15</p>' in answer.content.decode()
    assert values(client.get(RECEIVE))["quantity"] == "1"


def test_a_product_of_the_address_is_chosen(signed_in, owner, product):
    answer = signed_in(owner).get(RECEIVE, {"product": product.pk})
    assert values(answer)["product"] == str(product.pk)
    assert values(signed_in(owner).get(RECEIVE, {"product": "nonsense"}))["number"] == ""


# What is kept


def test_what_is_not_received_yet_is_kept_for_the_person(signed_in, client, owner, product):
    client = signed_in(owner)
    sent = form(line(product, number="HALF", quantity=""), act="check")
    client.post(RECEIVE, sent)
    answer = client.get(RECEIVE)
    assert values(answer)["number"] == "HALF"
    assert answer.context["delivery"].key == sent["key"]
    assert "Put aside" in answer.content.decode()
    answer = client.post(DISCARD, follow=True)
    assert "nothing of it was received" in answer.content.decode()
    assert values(answer)["number"] == ""


def test_what_was_received_is_kept_no_longer(signed_in, owner, product):
    client = signed_in(owner)
    client.post(RECEIVE, form(line(product), act="check"))
    client.post(RECEIVE, form(compared(line(product))))
    assert values(client.get(RECEIVE))["number"] == ""


def test_a_refused_delivery_is_kept_too(signed_in, owner, product):
    client = signed_in(owner)
    client.post(RECEIVE, form(line(product, number="LOT 42")))
    assert values(client.get(RECEIVE))["number"] == "LOT 42"


@pytest.mark.parametrize("key", ["", "x", "g" * 32, "'; --", "a" * 33])
def test_a_key_that_is_none_of_ours_is_replaced(signed_in, owner, product, key):
    signed_in(owner).post(RECEIVE, form(compared(line(product)), key=key))
    assert len(Receipt.objects.get().key) == 32
    assert Receipt.objects.get().key != key


# Labels


def test_labels_name_each_unit_with_its_serial_number(signed_in, owner, product):
    receipt = make_receipt(owner, product, number="A15", quantity=3, serials=["S1", "", "S2"])
    url = reverse("receiving-labels", kwargs={"pk": receipt.pk})
    text = page(signed_in(owner), url)
    for shown in ("U000001 to U000003", "lot A15", "S1", "S2", "U000002"):
        assert shown in text
    pdf = signed_in(owner).get(reverse("receiving-labels-pdf", kwargs={"pk": receipt.pk}))
    assert pdf["Content-Type"] == "application/pdf"
    printed = pdf_text(pdf.content)
    for shown in ("U000001", "U000003", "Lot A15", "Serial number S2", "Soft filler"):
        assert shown in printed


def test_labels_of_many_units_are_told_as_a_span(signed_in, owner, product):
    receipt = make_receipt(owner, product, quantity=61)
    text = page(signed_in(owner), reverse("receiving-labels", kwargs={"pk": receipt.pk}))
    assert "U000001 to U000061" in text
    assert "U000030" not in text


def test_the_last_deliveries_lead_to_their_labels(signed_in, owner, product):
    receipts = [make_receipt(owner, product, quantity=1) for _ in range(6)]
    answer = signed_in(owner).get(RECEIVE)
    assert list(answer.context["lately"]) == receipts[:0:-1]
    text = answer.content.decode()
    assert reverse("receiving-labels", kwargs={"pk": receipts[-1].pk}) in text
    assert 'labels from <span class="num">U000006</span>' in text


# Who and how


def test_without_a_product_the_page_says_what_to_do(signed_in, owner):
    text = page(signed_in(owner), RECEIVE)
    assert f'href="{reverse("product-create")}">Add a product' in text
    make_product()
    assert "No product to receive" not in page(signed_in(owner), RECEIVE)


def test_only_the_owner_receives(client, injector, desk, product):
    sent = form(compared(line(product)))
    assert client.post(RECEIVE, sent).status_code == 401
    for person in (injector, desk):
        client.force_login(person)
        assert client.post(RECEIVE, sent).status_code == 403
        assert client.post(DISCARD).status_code == 403
    assert not Lot.objects.exists()


def test_one_person_does_not_see_the_delivery_of_another(client, signed_in, owner, product):
    signed_in(owner).post(RECEIVE, form(line(product, number="MINE"), act="check"))
    client.force_login(make_user("second", is_owner=True))
    assert values(client.get(RECEIVE))["number"] == ""


def test_unknown_ids_and_wrong_methods(signed_in, owner):
    client = signed_in(owner)
    for name in ("receiving-labels", "receiving-labels-pdf"):
        for pk in (999, 10**30):
            assert client.get(reverse(name, kwargs={"pk": pk})).status_code == 404
    assert client.delete(RECEIVE).status_code == 405
    assert client.get(DISCARD).status_code == 405


def test_the_queries_do_not_grow_with_the_lines(
    signed_in, owner, product, django_assert_max_num_queries
):
    client = signed_in(owner)
    sent = [form(*(line(product, number=f"L{n}") for n in range(count))) for count in (1, 12)]
    with django_assert_max_num_queries(100) as few:
        client.post(RECEIVE, sent[0])
    with django_assert_max_num_queries(len(few.captured_queries)):
        client.post(RECEIVE, sent[1])

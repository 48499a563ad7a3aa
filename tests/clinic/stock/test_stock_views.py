"""The pages of the stock, of receiving, of lots and units."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.audit.services import acting
from clinic.stock.enums import MovementKind, UnitState
from clinic.stock.models import Lot, UnitOfStock
from clinic.stock.services import lock_unit, quarantine_lot, take_out_of_stock, waste
from tests.factories import make_product, make_session_with_unit, make_units, refreshed

STOCK, RECEIVE = reverse("stock-list"), reverse("stock-receive")


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
    assert RECEIVE in page(signed_in(owner), STOCK)
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
        ({"expires_on": "2027-02-31"}, "expires_on", "valid date"),
        ({"expires_on": ""}, "expires_on", "required"),
        ({"quantity": "0"}, "quantity", "greater than or equal to 1"),
        ({"quantity": "501"}, "quantity", "less than or equal to 500"),
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
    assert client.post(RECEIVE, typed).status_code == 302
    for person in (injector, desk):
        client.force_login(person)
        assert client.post(RECEIVE, typed).status_code == 403
    assert not Lot.objects.exists()


# A lot


@pytest.fixture
def lot(owner):
    return make_units(owner, make_product("Soft filler", gtin="9521234543213"))[0].lot


def url(name, thing) -> str:
    return reverse(name, kwargs={"pk": thing.pk})


def test_a_lot_shows_its_units_and_history(signed_in, owner, lot):
    text = page(signed_in(owner), url("lot-detail", lot))
    for shown in ("LOT42", "U000001", "U000002", "1\u00a0mL", "09521234543213", "Lot received"):
        assert shown in text


def test_quarantine_and_release_by_the_page(signed_in, owner, lot):
    client = signed_in(owner)
    client.post(url("lot-quarantine", lot), {"reason": "Safety notice"})
    assert refreshed(lot).quarantine_reason == "Safety notice"
    assert "Safety notice" in page(client, url("lot-detail", lot))
    client.post(url("lot-release", lot), {"reason": "Answered"})
    assert not refreshed(lot).is_quarantined
    assert "Answered" in page(client, url("lot-detail", lot))


@pytest.mark.parametrize("reason", ["", "   ", "x" * 301])
def test_a_quarantine_without_a_fit_reason_comes_back_with_what_was_typed(
    signed_in, owner, lot, reason
):
    answer = signed_in(owner).post(url("lot-quarantine", lot), {"reason": reason})
    assert answer.status_code == 422
    assert answer.context["form"].errors["reason"]
    assert answer.context["form"]["reason"].value() == reason
    assert "data-dialog-shown" in answer.content.decode()
    assert not refreshed(lot).is_quarantined


def test_releasing_what_is_not_in_quarantine_is_refused_in_words(signed_in, owner, lot):
    answer = signed_in(owner).post(url("lot-release", lot), {"reason": "Answered"}, follow=True)
    assert "Lot LOT42 is not in quarantine." in answer.content.decode()
    assert AuditEvent.objects.first().action != "lot.released"


@pytest.mark.parametrize("name", ["lot-quarantine", "lot-release"])
def test_who_else_and_how_else(client, owner, injector, lot, name):
    client.force_login(injector)
    assert client.post(url(name, lot), {"reason": "Notice"}).status_code == 403
    assert not refreshed(lot).is_quarantined
    client.force_login(owner)
    assert client.get(url(name, lot)).status_code == 405
    assert client.post(reverse(name, kwargs={"pk": 999}), {"reason": "x"}).status_code == 404


def test_many_units_are_paged_and_the_queries_do_not_grow(
    signed_in, owner, django_assert_max_num_queries
):
    client = signed_in(owner)
    few = make_units(owner, make_product("One"), quantity=2)[0].lot
    many = make_units(owner, make_product("Two"), quantity=120)[0].lot
    with django_assert_max_num_queries(100) as counted:
        client.get(url("lot-detail", few))
    with django_assert_max_num_queries(len(counted.captured_queries)):
        answer = client.get(url("lot-detail", many))
    assert len(answer.context["page_obj"]) == 50


@pytest.mark.parametrize("query", [{"first": "x", "last": "1"}, {"first": "9" * 30, "last": "1"}])
def test_labels_of_a_nonsense_delivery_are_none(signed_in, owner, lot, query):
    answer = signed_in(owner).get(url("lot-detail", lot), query)
    assert list(answer.context["received"]) == []


def test_an_unknown_lot_or_unit_is_not_found(signed_in, owner):
    client = signed_in(owner)
    for name in ("lot-detail", "unit-detail"):
        for pk in (999, 10**30):
            assert client.get(reverse(name, kwargs={"pk": pk})).status_code == 404


# A unit


def test_a_unit_shows_its_life(signed_in, owner, injector, patient, lot):
    unit = lot.units.first()
    make_session_with_unit(injector, patient, unit)
    answer = signed_in(injector).get(url("unit-detail", unit))
    assert [row.kind for row in answer.context["ledger"]] == ["received", "opened"]
    assert reverse("session-for-unit", kwargs={"pk": unit.pk}) in answer.content.decode()


@pytest.mark.parametrize("kind", ["returned", "written_off"])
def test_a_unit_is_taken_out_by_the_page(signed_in, owner, lot, kind):
    unit = lot.units.first()
    answer = signed_in(owner).post(
        url("unit-take-out", unit), {"kind": kind, "reason": "Damaged"}, follow=True
    )
    assert refreshed(unit).state == kind
    assert "Damaged" in answer.content.decode()


@pytest.mark.parametrize(
    "typed", [{"kind": "returned", "reason": ""}, {"kind": "wasted", "reason": "x"}, {}]
)
def test_taking_out_needs_a_kind_and_a_reason(signed_in, owner, lot, typed):
    unit = lot.units.first()
    answer = signed_in(owner).post(url("unit-take-out", unit), typed)
    assert answer.status_code == 422
    form = answer.context["form"]
    assert {name: form[name].value() for name in typed} == typed
    assert refreshed(unit).state == UnitState.IN_STOCK


def test_an_opened_unit_is_not_taken_out(signed_in, owner, injector, patient, lot):
    unit = lot.units.first()
    make_session_with_unit(injector, patient, unit)
    answer = signed_in(owner).post(
        url("unit-take-out", unit), {"kind": "returned", "reason": "Not needed"}, follow=True
    )
    assert refreshed(unit).state == UnitState.OPENED
    assert "is opened" in answer.content.decode()


def test_only_the_owner_takes_out(client, injector, owner, lot):
    unit = lot.units.first()
    client.force_login(injector)
    typed = {"kind": "returned", "reason": "Damaged"}
    assert client.post(url("unit-take-out", unit), typed).status_code == 403
    client.force_login(owner)
    assert client.get(url("unit-take-out", unit)).status_code == 405
    assert refreshed(unit).state == UnitState.IN_STOCK

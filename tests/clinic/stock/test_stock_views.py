"""The stock page."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from clinic.audit.services import acting
from clinic.policy.queries import current_policy
from clinic.policy.services import save_policy
from clinic.quarantine.services import quarantine_lot
from clinic.stock.enums import MovementKind
from clinic.stock.models import Lot, UnitOfStock
from clinic.stock.services import lock_unit, take_out_of_stock, waste
from tests.factories import (
    make_product,
    make_quarantine,
    make_session_with_unit,
    make_units,
)

STOCK, RECEIVE = reverse("stock-list"), reverse("receiving")


def in_days(days: int):
    return timezone.localdate() + timedelta(days=days)


def page(client, url) -> str:
    answer = client.get(url)
    assert answer.status_code == 200
    return answer.content.decode()


# The list


@pytest.mark.parametrize(
    ("days", "words", "is_urgent"),
    [
        (0, "Expires today", True),
        (1, "Expires tomorrow", True),
        (12, "Expires in 12 days", True),
        (14, "Expires in 14 days", True),
        (15, "Expires in 15 days", False),
        (60, "Expires in 60 days", False),
    ],
)
def test_an_expiry_is_pointed_out_in_days_and_pressed_within_the_second_lead_time(
    signed_in, owner, days, words, is_urgent
):
    """The policy's defaults: pointed out 60 days ahead, urgent 14 days ahead."""
    units = make_units(owner, make_product(), expires_on=in_days(days))
    client = signed_in(owner)
    state = "urgent" if is_urgent else "due"
    for url in (STOCK, reverse("lot-detail", kwargs={"pk": units[0].lot_id}), "/"):
        html = page(client, url)
        assert words in html
        assert f"badge--{state}" in html
    shown = client.get(STOCK, {"show": "urgent"}).context["rows"]
    assert len(shown) == is_urgent


def test_the_clinic_s_own_lead_times_hold(signed_in, owner):
    policy = current_policy()
    policy.expiry_warning_days, policy.expiry_urgent_days = 90, 30
    save_policy(policy=policy, actor=owner)
    make_units(owner, make_product(), expires_on=in_days(30))
    make_units(owner, make_product("Later"), expires_on=in_days(90))
    rows = signed_in(owner).get(STOCK).context["rows"]
    assert [(row.expires_soon, row.is_urgent) for row in rows] == [(True, True), (True, False)]


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


def test_a_lot_with_stopped_units_counts_as_quarantined(signed_in, owner):
    product, other = make_product("Soft"), make_product("Deep")
    (unit, _) = make_units(owner, product, number="A1", expires_on=in_days(400))
    make_units(owner, other, number="B1", expires_on=in_days(400))
    UnitOfStock.objects.filter(pk=unit.pk).update(serial="7")
    make_quarantine(owner, product, "Notice", serial_first="7", serial_last="7")
    client = signed_in(owner)
    answer = client.get(STOCK, {"show": "quarantined"})
    # The other unit has no serial number noted, so it may be the one that is meant.
    assert [(row.lot.number, row.stock.stopped) for row in answer.context["rows"]] == [("A1", 2)]
    assert answer.context["overview"]["quarantined"] == 1
    assert "2 quarantined" in answer.content.decode()


def test_a_stopped_unit_that_has_left_counts_no_more(signed_in, owner):
    product = make_product()
    (unit,) = make_units(owner, product, quantity=1, expires_on=in_days(400))
    make_quarantine(owner, product, "Notice", serial_first="7", serial_last="7")
    take_out_of_stock(unit=unit, kind=MovementKind.RETURNED, reason="Recall", actor=owner)
    answer = signed_in(owner).get(STOCK, {"show": "all"})
    assert [row.stock.stopped for row in answer.context["rows"]] == [0]
    assert answer.context["overview"]["quarantined"] == 0


@pytest.mark.parametrize("show", ["in_house", "all", "soon", "quarantined"])
def test_the_number_of_queries_does_not_grow(signed_in, owner, show, django_assert_max_num_queries):
    client = signed_in(owner)

    def fill(product):
        for number in ("A1", "B2"):
            make_units(owner, product, number=number, quantity=2, expires_on=in_days(9))
        if show == "quarantined":
            make_quarantine(owner, product, "Notice")

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
        ["LOT42"],
        {"on_hand": 0, "opened": 1, "soon": 0, "urgent": 0, "expired": 0, "quarantined": 0},
    )
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
    assert "Receive a delivery when it comes" in page(signed_in(owner), STOCK)
    assert "The practice owner receives lots" in page(signed_in(injector), STOCK)


def test_the_injector_looks_and_is_offered_no_writing(signed_in, owner, injector):
    (unit, _) = make_units(owner, make_product())
    lot_url = reverse("lot-detail", kwargs={"pk": unit.lot_id})
    unit_url = reverse("unit-detail", kwargs={"pk": unit.pk})
    for url, offered in [(STOCK, RECEIVE), (lot_url, 'id="quarantine"'), (unit_url, "take-out")]:
        assert offered in page(signed_in(owner), url)
        assert offered not in page(signed_in(injector), url)

"""
What to order. Expected figures by hand from the formula on the page: use per week × days ÷ 7,
rounded up (`planning.sources.REORDER_POINT`).
"""

import csv
import io
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from clinic.policy.queries import current_policy
from clinic.policy.services import save_policy
from clinic.quarantine.models import Quarantine
from clinic.quarantine.services import place_quarantine, quarantine_lot
from clinic.reorder.queries import due_rows, orders_by_supplier, reorder_rows
from clinic.stock.enums import MovementKind
from clinic.stock.services import lock_unit, move_unit, take_out_of_stock
from records.demo.clock import clock_at
from tests.factories import make_product, make_units
from tests.pdf import pdf_text

PAGE, CSV, PDF = (reverse(name) for name in ("reorder", "reorder-csv", "reorder-pdf"))
NOW = timezone.now()
SOON = timezone.localdate() + timedelta(days=400)


def act(unit, kind: MovementKind, actor, *, days_ago: float = 1) -> None:
    with clock_at(NOW - timedelta(days=days_ago)):
        move_unit(lock_unit(unit.pk), kind, amount=unit.content, actor=actor)


def stocked(owner, name: str, *, opened: int, left: int, **fields):
    """A product of which so many were opened yesterday, and so many are left."""
    product = make_product(name, **{"lead_time_days": 7, **fields})
    if opened + left:
        units = make_units(owner, product, quantity=opened + left, expires_on=SOON)
        for unit in units[:opened]:
            act(unit, MovementKind.OPENED, owner)
    return product


def row_of(product):
    (row,) = [row for row in reorder_rows(current_policy(), NOW) if row.product == product]
    return row


@pytest.mark.parametrize(
    ("opened", "left", "point", "is_due"),
    [
        (12, 3, 2, False),  # 1 a week; 7 + 7 days are 2 weeks
        (12, 2, 2, True),
        (13, 3, 3, True),  # 13/12 a week: 2 1/6, rounded up
        (0, 0, 0, False),  # not used: nothing to order
    ],
)
def test_it_is_time_when_no_more_is_left_than_is_used_until_it_comes(
    owner, opened, left, point, is_due
):
    """The policy's defaults: the last 12 weeks, 7 days in reserve."""
    row = row_of(stocked(owner, "Filler", opened=opened, left=left))
    assert (row.opened, row.on_hand) == (opened, left)
    assert (row.advice.point, row.is_due) == (point, is_due)


def test_what_cannot_be_opened_is_not_usable(owner):
    product = stocked(owner, "Filler", opened=0, left=2)
    yesterday = timezone.localdate() - timedelta(days=1)
    make_units(owner, product, number="EXPIRED", expires_on=yesterday)
    make_units(owner, product, number="TODAY", expires_on=timezone.localdate(), quantity=1)
    held = make_units(owner, product, number="HELD", expires_on=SOON)
    make_units(owner, product, number="SERIALS", quantity=2, serials=["A1", "A2"], expires_on=SOON)
    gone, missing = make_units(owner, product, number="GONE", quantity=2, expires_on=SOON)
    take_out_of_stock(unit=gone, kind=MovementKind.RETURNED, reason="Twice", actor=owner)
    move_unit(lock_unit(missing.pk), MovementKind.MISSING, amount=1000, reason="Count", actor=owner)
    assert row_of(product).on_hand == 2 + 1 + 2 + 2
    quarantine_lot(lot=held[0].lot, reason="Letter", actor=owner)
    span = Quarantine(
        product=product, lot_first="SERIALS", lot_last="SERIALS", serial_first="A2",
        serial_last="A2", reason="Letter",
    )  # fmt: skip
    place_quarantine(quarantine=span, actor=owner)
    assert row_of(product).on_hand == 2 + 1 + 1


def test_use_is_what_was_opened_in_the_policys_weeks_less_what_was_put_back(owner):
    policy = current_policy()
    policy.reorder_weeks = 2
    save_policy(policy=policy, actor=owner)
    product = make_product(lead_time_days=7)
    with clock_at(NOW - timedelta(days=60)):
        units = make_units(owner, product, quantity=4, expires_on=SOON)
    act(units[0], MovementKind.OPENED, owner, days_ago=14.1)
    act(units[1], MovementKind.OPENED, owner, days_ago=13.9)
    act(units[2], MovementKind.OPENED, owner, days_ago=2)
    act(units[2], MovementKind.PUT_BACK, owner, days_ago=1)
    row = row_of(product)
    assert (row.opened, row.advice.weeks, row.on_hand) == (1, 2, 2)


def test_what_is_gone_soonest_stands_first_then_what_lacks_something(owner):
    stocked(owner, "A enough", opened=1, left=9)
    stocked(owner, "B incomplete", opened=4, left=1, lead_time_days=None)
    stocked(owner, "C due", opened=12, left=2)
    stocked(owner, "D due sooner", opened=12, left=0)
    stocked(owner, "E unused, incomplete", opened=0, left=1, lead_time_days=None)
    make_product("F not in use", is_active=False)
    names = [row.product.name for row in reorder_rows(current_policy(), NOW)]
    assert names == ["D due sooner", "C due", "B incomplete", "A enough", "E unused, incomplete"]


def test_a_product_without_delivery_time_says_what_is_missing(signed_in, owner):
    product = stocked(owner, "Filler", opened=4, left=1, lead_time_days=None)
    page = signed_in(owner).get(PAGE).content.decode()
    assert "How many days the supplier takes is not noted. 4 opened in 12 weeks." in page
    assert reverse("product-edit", kwargs={"pk": product.pk}) in page


def test_no_days_at_all_are_asked_for_instead_of_reckoned(owner):
    policy = current_policy()
    policy.reorder_spare_days = 0
    save_policy(policy=policy, actor=owner)
    row = row_of(stocked(owner, "Filler", opened=4, left=1, lead_time_days=0))
    assert (row.advice, row.is_due) == (None, False)
    assert row.problem


def test_the_page_shows_the_formula_with_its_figures_and_its_source(signed_in, owner):
    stocked(owner, "Filler", opened=12, left=2, units_per_pack=5)
    page = signed_in(owner).get(PAGE).content.decode()
    assert "12 opened in 12 weeks is 1 a week; for 7 + 7 days that is 2; order when 2" in page
    assert "1 pack = 5 units" in page  # 4 are needed: up to 2 + 4 weeks of use, less 2
    assert "Textbooks of operations management" in page


def test_the_list_is_ordered_by_supplier_in_whole_packs(signed_in, owner):
    stocked(owner, "Soft", opened=12, left=0, supplier="Zed", units_per_pack=4)
    stocked(owner, "Deep", opened=12, left=1, supplier="Alpha", gtin="09521234543213")
    stocked(owner, "Fine", opened=12, left=1, supplier="Alpha")
    stocked(owner, "Loose", opened=12, left=1)
    stocked(owner, "Enough", opened=12, left=50, supplier="Alpha")
    orders = orders_by_supplier(due_rows(current_policy(), NOW))
    assert [(name, [row.product.name for row in rows]) for name, rows in orders] == [
        ("Alpha", ["Deep", "Fine"]), ("No supplier noted", ["Loose"]), ("Zed", ["Soft"]),
    ]  # fmt: skip
    client = signed_in(owner)
    text = b"".join(client.get(CSV).streaming_content).decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [(row["product"], row["units"], row["packs"]) for row in rows] == [
        ("Deep", "5", "5"), ("Fine", "5", "5"), ("Loose", "5", "5"), ("Soft", "8", "2"),
    ]  # fmt: skip
    printed = pdf_text(client.get(PDF).content)
    for words in ("Order list", "Alpha", "Zed", "09521234543213", "2 × 4 8"):
        assert words in printed


def test_nothing_to_order_is_said_and_printed(signed_in, owner):
    client = signed_in(owner)
    assert "No product in use" in client.get(PAGE).content.decode()
    stocked(owner, "Enough", opened=1, left=50)
    assert "Nothing to order now." in client.get(PAGE).content.decode()
    assert "Nothing to order now." in pdf_text(client.get(PDF).content)


def test_the_page_takes_as_many_queries_for_many_products(
    signed_in, owner, django_assert_num_queries
):
    client = signed_in(owner)
    stocked(owner, "One", opened=2, left=1)
    with CaptureQueriesContext(connection) as few:
        client.get(PAGE)
    for name in ("Two", "Three", "Four"):
        stocked(owner, name, opened=2, left=1)
    with django_assert_num_queries(len(few)):
        client.get(PAGE)


def test_strangers_colleagues_and_wrong_methods(client, injector, owner):
    for url in (PAGE, CSV, PDF):
        client.logout()
        assert client.get(url).status_code == 302
        client.force_login(injector)
        assert client.get(url).status_code == 403
        client.force_login(owner)
        assert client.post(url).status_code == 405

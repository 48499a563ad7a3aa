"""What lies where, and moving it."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clinic.audit.models import AuditEvent
from clinic.stock.enums import MovementKind
from clinic.stock.errors import StockError
from clinic.stock.services import take_out_of_stock
from clinic.storage.queries import units_lying_warm
from clinic.storage.services import move_units
from tests.factories import (
    make_fridge,
    make_place,
    make_product,
    make_session_with_unit,
    make_units,
    refreshed,
)

LIST, NOWHERE, MOVE = (reverse(name) for name in ("place-list", "place-nowhere", "unit-move"))
CHOOSE = reverse("unit-choose")
GTIN = "9521234543213"


def detail(place) -> str:
    return reverse("place-detail", kwargs={"pk": place.pk})


@pytest.fixture
def cupboard(db):
    return make_place()


@pytest.fixture
def room(db):
    return make_place("Room 1", kind="room")


@pytest.fixture
def units(owner, cupboard):
    return make_units(owner, make_product(gtin=GTIN), quantity=3, place=cupboard)


# Moving


def test_units_are_put_elsewhere_in_one_act_with_reason_and_person(units, room, injector):
    movements = move_units(units=units[:2], place=room, reason=" For today ", actor=injector)
    assert [refreshed(unit).place_id == room.pk for unit in units] == [True, True, False]
    for movement in movements:
        told = (movement.kind, movement.place, movement.reason, movement.by)
        assert told == (MovementKind.MOVED, room, "For today", injector)
    assert AuditEvent.objects.filter(action="unit.moved").count() == 2


def test_all_are_moved_or_none(units, room, owner):
    take_out_of_stock(unit=units[2], kind=MovementKind.RETURNED, reason="Twice", actor=owner)
    with pytest.raises(StockError, match="U000003 is returned to supplier"):
        move_units(units=units, place=room, reason="For today", actor=owner)
    assert not room.units.exists()
    assert not AuditEvent.objects.filter(action="unit.moved").exists()


@pytest.mark.parametrize(("chosen", "reason"), [([], "Why"), ([0], "  ")])
def test_nothing_is_moved_without_units_or_reason(units, room, owner, chosen, reason):
    with pytest.raises(StockError):
        move_units(units=[units[i] for i in chosen], place=room, reason=reason, actor=owner)


def test_nothing_is_moved_to_a_place_out_of_use(units, owner):
    with pytest.raises(StockError, match="no longer in use"):
        move_units(units=units, place=make_place("Old", is_active=False), reason="Why", actor=owner)


def test_ticked_units_are_moved_by_the_page(signed_in, units, room, injector):
    client = signed_in(injector)
    chosen = [unit.pk for unit in units[:2]]
    page = client.post(CHOOSE, {"unit": chosen}).content.decode()
    assert "U000001" in page
    assert "U000003" not in page
    sent = {"unit": chosen, "place": room.pk, "reason": "For today"}
    answer = client.post(MOVE, sent)
    assert answer.headers["Location"] == detail(room)
    assert room.units.count() == 2


def test_a_link_brings_a_unit_along(signed_in, units, injector):
    answer = signed_in(injector).get(MOVE, {"unit": units[1].pk})
    assert list(answer.context["chosen"]) == [units[1]]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"unit": []}, "Choose at least one unit."),
        ({"unit": ["999"]}, "not one of the available choices"),
        ({"unit": ["x"]}, "not a valid value"),
        ({"place": ""}, "Put them into is required."),
        ({"reason": ""}, "Say why, in a few words"),
        ({"reason": "x" * 301}, "at most 300 characters"),
    ],
)
def test_a_refused_move_says_why_and_keeps_what_was_chosen(
    signed_in, units, room, injector, change, words
):
    sent = {"unit": [units[0].pk], "place": room.pk, "reason": "For today"} | change
    answer = signed_in(injector).post(MOVE, sent)
    page = answer.content.decode()
    assert words in page
    if "unit" not in change:
        assert list(answer.context["chosen"]) == [units[0]]
    if "reason" not in change:
        assert 'value="For today"' in page
    assert not room.units.exists()


def test_a_unit_that_left_meanwhile_is_named(signed_in, units, room, owner):
    take_out_of_stock(unit=units[0], kind=MovementKind.RETURNED, reason="Twice", actor=owner)
    sent = {"unit": [units[0].pk], "place": room.pk, "reason": "For today"}
    page = signed_in(owner).post(MOVE, sent).content.decode()
    assert "Unit U000001 is returned to supplier, so it cannot be moved." in page


@pytest.mark.parametrize("code", ["u2", "U000002", f"(01)0{GTIN}(10)LOT42"])
def test_one_more_is_chosen_by_label_or_code(signed_in, units, injector, code):
    sent = {"unit": [units[0].pk], "code": code, "reason": "For today"}
    answer = signed_in(injector).post(CHOOSE, sent)
    assert list(answer.context["chosen"]) == units[:2]
    assert answer.context["form"]["reason"].value() == "For today"


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("u77", "No unit has the label U000077"),
        ("nonsense", "not a GS1 code"),
        (f"(01)0{GTIN}(10)OTHER", "No unit of this lot was received"),
        ("(01)09521234543220(10)LOT42", "No unit of this lot was received"),
        (f"(01)0{GTIN}", "but no lot"),
        ("u3", "Nothing is left of U000003"),
    ],
)
def test_a_code_that_leads_to_no_unit_says_why_and_stays(signed_in, units, owner, code, words):
    take_out_of_stock(unit=units[2], kind=MovementKind.RETURNED, reason="Twice", actor=owner)
    answer = signed_in(owner).post(CHOOSE, {"unit": [units[0].pk], "code": code})
    assert words in str(answer.context["code_error"])
    assert list(answer.context["chosen"]) == [units[0]]
    assert answer.context["code"] == code


def test_when_all_of_a_lot_are_chosen_a_further_scan_adds_none(signed_in, units, injector):
    sent = {"unit": [unit.pk for unit in units], "code": f"(01)0{GTIN}(10)LOT42"}
    answer = signed_in(injector).post(CHOOSE, sent)
    assert "Every unit of lot LOT42 that is in the house" in str(answer.context["code_error"])


def test_a_unit_read_twice_is_said_to_be_chosen(signed_in, units, injector):
    answer = signed_in(injector).post(CHOOSE, {"unit": [units[0].pk], "code": "u1"})
    assert "U000001 is chosen already." in str(answer.context["code_error"])
    assert list(answer.context["chosen"]) == [units[0]]


# What lies where


def test_a_place_lists_its_units_by_product_and_lot_first_expired_first(
    signed_in, owner, injector, patient, cupboard
):
    soft, deep = make_product("Soft"), make_product("Deep")
    late = make_units(owner, soft, number="S2", place=cupboard)
    make_units(owner, soft, number="S1", expires_on=date(2029, 1, 1), place=cupboard)
    make_units(owner, deep, number="D1", place=cupboard, quantity=1)
    make_units(owner, deep, number="ELSEWHERE", place=make_place("Room"))
    make_session_with_unit(injector, patient, late[0])
    take_out_of_stock(unit=late[1], kind=MovementKind.RETURNED, reason="Twice", actor=owner)
    rows = signed_in(injector).get(detail(cupboard)).context["rows"]
    assert [(row.row.lot.number, len(row.units)) for row in rows] == [
        ("D1", 1), ("S1", 2), ("S2", 1),
    ]  # fmt: skip


def test_the_list_counts_what_lies_in_each_place_and_nowhere(
    signed_in, owner, injector, patient, units, room
):
    make_session_with_unit(injector, patient, units[0])
    make_units(owner, make_product("Loose"), quantity=1)
    answer = signed_in(injector).get(LIST)
    counts = [(place.name, place.unopened, place.opened) for place in answer.context["places"]]
    assert counts == [("Cupboard", 2, 1), ("Room 1", 0, 0)]
    assert answer.context["nowhere"] == {"unopened": 1, "opened": 0}
    assert "Loose" in signed_in(injector).get(NOWHERE).content.decode()


def test_what_belongs_in_a_fridge_and_lies_outside_is_pointed_out_everywhere(
    signed_in, owner, cupboard
):
    toxin = make_product("Toxin", keep_lowest_tenths=20, keep_highest_tenths=80)
    fridge = make_fridge()
    make_units(owner, make_product("Filler"), number="F1", place=cupboard)
    make_units(owner, toxin, number="COLD", place=fridge)
    make_units(owner, toxin, number="LOOSE")
    warm = make_units(owner, toxin, number="WARM", quantity=1, place=cupboard)[0]
    assert list(units_lying_warm()) == [warm]
    client = signed_in(owner)
    assert [place.is_warm for place in client.get(LIST).context["places"]] == [True, False]
    stock = {row.lot.number: row.is_warm for row in client.get("/stock/").context["rows"]}
    assert stock == {"F1": False, "COLD": False, "LOOSE": False, "WARM": True}
    for url, words in [
        (detail(cupboard), "Belongs in a fridge"),
        (reverse("unit-detail", kwargs={"pk": warm.pk}), "It lies outside a fridge"),
        (reverse("lot-detail", kwargs={"pk": warm.lot_id}), "It lies outside a fridge"),
        ("/stock/", "No fridge"),
    ]:
        assert words in client.get(url).content.decode()
    assert "Belongs in a fridge" not in client.get(detail(fridge)).content.decode()


def test_unit_and_lot_say_where_they_lie(signed_in, owner, units, cupboard):
    client = signed_in(owner)
    unit = client.get(reverse("unit-detail", kwargs={"pk": units[0].pk})).content.decode()
    assert f'<a href="{detail(cupboard)}">Riverside, Cupboard</a>' in unit
    lot = client.get(reverse("lot-detail", kwargs={"pk": units[0].lot_id}))
    assert [(share.place, share.units) for share in lot.context["row"].shares] == [("Cupboard", 3)]


def test_an_empty_clinic_is_told_what_to_do(signed_in, owner, injector):
    assert reverse("place-create") in signed_in(owner).get(LIST).content.decode()
    assert "The practice owner adds" in signed_in(injector).get(LIST).content.decode()


def test_pages_take_as_many_queries_for_many_places_and_lots(
    signed_in, owner, cupboard, django_assert_num_queries
):
    client = signed_in(owner)
    make_units(owner, make_product("One"), place=cupboard)
    with CaptureQueriesContext(connection) as listing:
        client.get(LIST)
    with CaptureQueriesContext(connection) as contents:
        client.get(detail(cupboard))
    for name in ("Two", "Three"):
        make_units(owner, make_product(name), place=cupboard)
        make_units(owner, make_product(f"{name} more"), place=make_place(name))
    with django_assert_num_queries(len(listing)):
        client.get(LIST)
    with django_assert_num_queries(len(contents)):
        client.get(detail(cupboard))

"""The pages of one lot and of one unit of stock."""

from datetime import date

import pytest
from django.urls import reverse

from clinic.audit.models import AuditEvent
from clinic.audit.services import record_read
from clinic.quarantine.models import Quarantine
from clinic.quarantine.services import place_quarantine
from clinic.stock.enums import MovementKind, UnitState
from clinic.stock.models import Lot, UnitOfStock
from clinic.stock.queries import ledger_rows
from clinic.stock.services import discard_remainder, put_elsewhere, take_out_of_stock
from records.sessions.services.points import remove_point
from tests.factories import (
    make_place,
    make_point,
    make_product,
    make_quarantine,
    make_session_with_unit,
    make_units,
    refreshed,
)


def page(client, url) -> str:
    answer = client.get(url)
    assert answer.status_code == 200
    return answer.content.decode()


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


def test_reads_do_not_push_what_was_done_out_of_the_history(signed_in, owner, lot):
    for _ in range(21):
        record_read(owner, lot, action="lot.traced")
    history = signed_in(owner).get(url("lot-detail", lot)).context["history"]
    assert [event.what for event in history] == ["Lot received", "Lot added"]


def test_quarantine_and_release_by_the_page(signed_in, owner, lot):
    client = signed_in(owner)
    client.post(url("lot-quarantine", lot), {"reason": "Safety notice"})
    assert refreshed(lot).quarantine_reason == "Safety notice"
    assert "Safety notice" in page(client, url("lot-detail", lot))
    client.post(url("lot-release", lot), {"reason": "Answered"})
    assert not refreshed(lot).is_quarantined
    assert "Answered" in page(client, url("lot-detail", lot))


def test_a_reason_of_blanks_is_told_what_to_type(signed_in, owner, lot):
    client, unit = signed_in(owner), lot.units.first()
    for where in (url("lot-quarantine", lot), url("unit-take-out", unit)):
        answer = client.post(where, {"reason": "   "})
        assert "Say why, in a few words" in answer.content.decode()
        assert "This field is required" not in answer.content.decode()


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


def test_an_unknown_lot_or_unit_is_not_found(signed_in, owner):
    client = signed_in(owner)
    for name in ("lot-detail", "unit-detail"):
        for pk in (999, 10**30):
            assert client.get(reverse(name, kwargs={"pk": pk})).status_code == 404


# A unit


def test_a_unit_stopped_by_its_serial_number_says_so_on_both_pages(signed_in, owner, lot):
    unit = lot.units.first()
    lot.units.filter(pk=unit.pk).update(serial="7")
    lot.units.exclude(pk=unit.pk).update(serial="8")
    make_quarantine(owner, lot.product, "Notice 7", serial_first="7", serial_last="7")
    client = signed_in(owner)
    text = page(client, url("unit-detail", unit))
    assert "This unit is in quarantine by its serial number" in text
    assert "Notice 7" in text
    text = page(client, url("lot-detail", lot))
    assert text.count("badge--quarantined") == 2  # of the lot, and of the one unit
    assert "1 quarantined" in text


def test_a_unit_shows_its_life(signed_in, owner, injector, patient, lot):
    unit = lot.units.first()
    make_session_with_unit(injector, patient, unit)
    answer = signed_in(injector).get(url("unit-detail", unit))
    assert [row.movement.kind for row in answer.context["ledger"]] == ["received", "opened"]
    assert reverse("session-for-unit", kwargs={"pk": unit.pk}) in answer.content.decode()


@pytest.mark.parametrize("kind", [MovementKind.RETURNED, MovementKind.WRITTEN_OFF])
def test_nothing_remains_of_a_unit_that_is_gone(signed_in, owner, lot, kind):
    unit, other = lot.units.order_by("pk")
    take_out_of_stock(unit=unit, kind=kind, reason="Box damaged", actor=owner)
    client = signed_in(owner)
    assert "Remaining" not in page(client, url("unit-detail", unit))
    assert "Remaining" in page(client, url("unit-detail", other))
    of_lot = page(client, url("lot-detail", lot))
    assert of_lot.count('data-label="Remaining"><strong>1\u00a0mL') == 1


def test_nothing_remains_of_a_unit_that_a_count_did_not_find(signed_in, owner, lot):
    UnitOfStock.objects.filter(pk=lot.units.first().pk).update(state=UnitState.MISSING)
    assert "Remaining" not in page(signed_in(owner), url("unit-detail", lot.units.first()))


def test_a_units_ledger_says_what_each_movement_left(signed_in, owner, injector, patient, lot):
    unit, other = lot.units.all()[:2]
    put_elsewhere(unit=unit, place=make_place("Room 2", site="Main"), actor=owner)
    session = make_session_with_unit(injector, patient, unit)
    point = make_point(session, unit)
    make_point(session, unit, amount=150)
    remove_point(point=point, actor=injector)
    discard_remainder(unit=unit, reason="Dropped", witness="Dora Desk", actor=owner)
    answer = signed_in(injector).get(url("unit-detail", unit))
    told = [(row.movement.kind, row.change, row.left) for row in answer.context["ledger"]]
    assert told == [
        ("received", 1000, 1000), ("moved", 0, 1000), ("opened", 0, 1000), ("drawn", -200, 800),
        ("drawn", -150, 650), ("undrawn", 200, 850), ("wasted", -850, 0),
    ]  # fmt: skip
    text = answer.content.decode()
    for shown in ("\u22120.2\u00a0mL", "+0.2\u00a0mL", "Point 1", "Main, Room 2", "Dora Desk"):
        assert shown in text
    take_out_of_stock(unit=other, kind=MovementKind.RETURNED, reason="Recalled", actor=owner)
    assert [row.left for row in ledger_rows(other)] == [1000, 0]


def test_a_units_page_takes_the_same_queries_for_any_number_of_movements(
    signed_in, injector, patient, lot, django_assert_num_queries
):
    unit = lot.units.first()
    session = make_session_with_unit(injector, patient, unit)
    for _ in range(3):
        make_point(session, unit, amount=10)
    with django_assert_num_queries(1):
        assert [str(row.movement.by) for row in ledger_rows(unit)][2:] == ["Ida Injector"] * 3


def test_a_unit_stopped_by_its_serial_number_says_so(signed_in, owner, lot):
    unit = lot.units.first()
    span = Quarantine(
        product=lot.product, serial_first="S1", serial_last="S1", reason="Cracked glass"
    )
    UnitOfStock.objects.filter(pk=unit.pk).update(serial="S1")
    place_quarantine(quarantine=span, actor=owner)
    text = page(signed_in(owner), url("unit-detail", unit))
    assert "This unit is in quarantine" in text
    assert "Cracked glass" in text


def test_an_expired_lot_warns_only_where_something_can_still_go_wrong(signed_in, owner, lot):
    Lot.objects.update(expires_on=date(2020, 1, 31))
    client, units = signed_in(owner), list(lot.units.all())
    lot_url, unit_url = url("lot-detail", lot), url("unit-detail", units[0])
    assert "Return what is left" in client.get(lot_url).content.decode()
    assert "The lot has expired" in client.get(unit_url).content.decode()
    for unit in units:
        take_out_of_stock(unit=unit, kind=MovementKind.WRITTEN_OFF, reason="Old", actor=owner)
    assert "Return what is left" not in client.get(lot_url).content.decode()
    assert "The lot has expired" not in client.get(unit_url).content.decode()


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

"""Units are chosen by their labels and put into another room."""

import pytest
from playwright.sync_api import expect

from clinic.places.enums import PlaceKind
from tests.factories import make_place, make_product, make_units, refreshed

pytestmark = pytest.mark.django_db(transaction=True)


def test_labels_are_scanned_first_and_the_place_is_said_afterwards(page, sign_in, injector):
    first, second = make_units(injector, make_product(), quantity=2)
    room = make_place("Room 2", site="Main", kind=PlaceKind.ROOM)
    sign_in(page, injector)
    page.goto("/storage/move/")
    code = page.get_by_label("Scan a box, or type a unit's label")
    code.fill(first.label)
    code.press("Enter")
    expect(page.get_by_text(f"{first.label} of lot")).to_be_visible()
    code.fill(second.label)
    page.get_by_role("button", name="Choose this unit").click()
    expect(page.get_by_role("checkbox")).to_have_count(2)
    page.get_by_label("Put them into").select_option(label=str(room))
    page.get_by_label("Reason").fill("For tomorrow")
    page.get_by_role("button", name="Move them").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Room 2")
    assert {refreshed(unit).place for unit in (first, second)} == {room}

"""A recall from the lot's page to the signature, in a real browser."""

import pytest
from playwright.sync_api import expect

from clinic.stock.enums import UnitState
from records.recalls.models import RecallCase
from tests.factories import PASSWORD, make_patient, make_product, make_units, refreshed
from tests.records.recalls.cases import treat

pytestmark = pytest.mark.django_db(transaction=True)


def test_the_owner_stops_a_lot_tells_a_patient_returns_a_syringe_and_closes(
    page, sign_in, owner, injector, desk
):
    used, sealed = make_units(owner, make_product(maker="Example Maker"), quantity=2)
    treat(injector, make_patient(desk, "Ann Example", phone="07700 900123"), used)
    sign_in(page, owner)

    page.goto(f"/stock/lots/{sealed.lot_id}/")
    page.get_by_role("link", name="Recall it").click()
    page.get_by_label("Reference").fill("FSN-14")
    page.get_by_label("What it says").fill("Cracked barrels. Stop using the lot.")
    page.get_by_role("button", name="Another product or lot").click()
    expect(page.get_by_role("group", name="Product and lots")).to_have_count(2)
    page.get_by_role("button", name="Open the case and stop the stock").click()
    expect(page.get_by_role("heading", name="Recall R0001")).to_be_visible()
    assert refreshed(sealed.lot).is_quarantined

    page.get_by_role("link", name="Call people").click()
    page.get_by_role("link", name="Ann Example", exact=True).click()
    page.get_by_label("Spoken to, and told").check()
    page.get_by_role("button", name="Note it").click()
    expect(page.get_by_text("Phone: spoken to, and told")).to_be_visible()
    page.get_by_role("link", name="Call list 1").click()
    page.get_by_role("button", name="The list is complete").click()
    page.get_by_role("dialog").get_by_role("button", name="The list is complete").click()
    expect(page.get_by_text("Complete since")).to_be_visible()

    page.get_by_role("link", name="Units 1").click()
    page.get_by_role("checkbox", name="Tick all").check()
    page.get_by_role("button", name="Set apart what is ticked").click()
    page.get_by_role("checkbox", name=f"Let {sealed.label} go").check()
    page.get_by_label("returned to the supplier").check()
    page.get_by_label("Seen by").fill("Dora Desk")
    page.get_by_role("button", name="Take out of the stock").click()
    expect(page.get_by_role("cell", name="Dora Desk")).to_be_visible()
    assert refreshed(sealed).state == UnitState.RETURNED

    page.get_by_role("link", name="The case").click()
    expect(page.get_by_role("group", name="Stopwatch")).to_contain_text("Everybody reached")
    page.get_by_role("link", name="Close the case").click()
    page.get_by_label("Effectiveness check: 0 of 1 checked").fill("Asked on the telephone")
    page.get_by_label("Your password").fill(PASSWORD)
    page.get_by_role("button", name="Close as Olga Owner").click()
    expect(page.get_by_text("What is stored still fits it")).to_be_visible()
    assert not RecallCase.objects.get().is_open

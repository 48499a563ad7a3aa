"""Which units a plan opens, from the shelf as it is."""

from datetime import timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from planning.allocation.shelf import Preference
from planning.vocabulary import ProductKind
from records.plans.models import Plan
from records.plans.queries.plans import with_lines
from records.plans.queries.quotes import quote_of
from records.plans.queries.units import StageUnits, units_for
from records.plans.services.lines import add_copies
from records.plans.services.plans import add_stage
from records.sessions.enums import Remainder
from records.sessions.services.signing import sign_session
from records.sessions.services.tray import put_on_tray
from tests.factories import (
    make_line,
    make_plan,
    make_point,
    make_product,
    make_quarantine,
    make_session,
    make_session_with_unit,
    make_units,
)

pytestmark = pytest.mark.django_db
FIRM = "HA filler firm"


@pytest.fixture
def packs(owner):
    """One product in three sizes, two units of each: 0.5, 1 and 2 mL."""
    sizes = {500: 10_500, 1000: 18_000, 2000: 33_000}
    products = {
        content: make_product(f"{FIRM} {content}", line=FIRM, content=content, price=price)
        for content, price in sizes.items()
    }
    for content, product in products.items():
        make_units(owner, product, number=f"F{content}")
    return products


def planned(injector, patient, *lines, policy: ClinicPolicy | None = None) -> list[StageUnits]:
    plan = make_plan(injector, patient, None, *lines)
    return units_for(read(plan), policy or ClinicPolicy())


def read(plan: Plan) -> Plan:
    return with_lines(Plan.objects.filter(pk=plan.pk)).get()


def opened(row: StageUnits) -> dict[int, int]:
    return {each.product.content: each.units for each in row.to_open}


def test_a_plan_takes_the_sizes_that_waste_least(injector, patient, packs):
    """1.4 mL for both cheeks and the chin: 0.5 + 1 mL leave 0.1; by hand."""
    firm = packs[1000]
    lines = [
        make_line(firm),
        make_line(firm, side="right"),
        make_line(firm, region="mental", side="midline", amount=200),
    ]
    [row] = planned(injector, patient, *lines)
    assert opened(row) == {500: 1, 1000: 1}
    assert (row.needs[0].planned, row.needs[0].left) == (1400, 100)
    assert row.cost == 28_500


def test_least_cost_is_another_choice(injector, patient, packs):
    """2.2 mL: least waste 0.5 + 2 × 1 mL is 465.00 (0.3 left); 0.5 + 2 mL is 435.00; by hand."""
    firm = packs[1000]
    lines = [make_line(firm, amount=1100), make_line(firm, side="right", amount=1100)]
    cheapest = ClinicPolicy(plan_preference=Preference.COST)
    [row] = planned(injector, patient, *lines, policy=cheapest)
    assert opened(row) == {500: 1, 2000: 1}
    assert row.cost == 43_500


def test_a_syringe_stays_in_its_plane_unless_the_clinic_decides_otherwise(injector, patient, packs):
    firm = packs[1000]
    lines = [
        make_line(firm, amount=500),
        make_line(firm, side="right", amount=500, plane="subcutaneous"),
    ]
    plan = make_plan(injector, patient, None, *lines)
    [apart] = units_for(read(plan), ClinicPolicy())
    [shared] = units_for(read(plan), ClinicPolicy(one_plane_a_unit=False))
    assert opened(apart) == {500: 2}
    assert opened(shared) == {1000: 1}  # one unit and one lot in place of two units


def test_what_may_not_be_opened_is_not_planned(injector, owner, patient, packs):
    make_quarantine(owner, packs[500])
    lots = packs[1000].lots
    lots.update(expires_on=timezone.localdate() - timedelta(days=1))
    [row] = planned(injector, patient, make_line(packs[1000], amount=500))
    assert opened(row) == {2000: 1}


def test_what_the_shelf_lacks_is_to_be_ordered_and_priced_all_the_same(injector, patient, packs):
    """8 mL are asked for, 7 lie there: two each of 0.5, 1 and 2 mL."""
    firm = packs[1000]
    lines = [make_line(firm, side=side, amount=4000) for side in ("left", "right")]
    [row] = planned(injector, patient, *lines)
    assert row.to_order
    assert sum(each.content * each.units for each in row.to_open) >= 8000
    assert row.cost == sum(each.cost for each in row.to_open)


def test_what_is_open_for_the_patient_is_used_first(injector, patient, packs):
    unit = packs[1000].lots.get().units.first()
    session = make_session_with_unit(injector, patient, unit)
    make_point(session, unit, amount=300)
    sign_session(session=session, remainders={unit.pk: Remainder.KEPT}, actor=injector)
    [row] = planned(injector, patient, make_line(packs[1000], amount=700))
    assert [each.pk for each in row.in_use] == [unit.pk]
    assert (row.to_open, row.needs[0].left, row.cost) == ((), 0, 0)


def test_a_later_stage_has_what_the_first_one_left(injector, patient, packs):
    """Both stages want 0.5 mL for each side; only two syringes of 0.5 mL lie there."""
    firm = packs[500]
    lines = [make_line(firm, side=side, amount=500) for side in ("left", "right")]
    plan = make_plan(injector, patient, None, *lines)
    second = add_stage(plan=plan, weeks_after=4, actor=injector)
    add_copies(stage=second, lines=lines, actor=injector)
    first_units, second_units = units_for(read(plan), ClinicPolicy())
    assert opened(first_units) in ({500: 2}, {1000: 1})
    total = {
        content: opened(first_units).get(content, 0) + opened(second_units).get(content, 0)
        for content in packs
    }
    assert max(total.values()) <= 2
    assert (second_units.on - first_units.on).days == 28


def test_a_vial_that_is_shared_leaves_its_rest_to_others(injector, owner, patient):
    toxin = make_product(
        "OnabotulinumtoxinA", kind=ProductKind.TOXIN, content=10_000, lidocaine_ug_per_ml=0,
        is_single_patient=False,
    )  # fmt: skip
    make_units(owner, toxin)
    line = make_line(toxin, region="glabella", side="midline", amount=2_000, plane="intramuscular")
    [row] = planned(injector, patient, line)
    assert row.needs[0].is_shared
    assert row.needs[0].left == 8_000


def test_no_total_while_a_price_is_missing(injector, patient, packs):
    packs[2000].price = None
    packs[2000].save()
    firm = packs[1000]
    plan = make_plan(injector, patient, None, make_line(firm, amount=3900))
    quote = quote_of(read(plan), ClinicPolicy())
    assert quote.unpriced == [packs[2000].name]
    assert quote.total is None


def test_a_pack_without_a_price_is_not_taken_for_a_cheap_one(injector, patient, packs):
    """0.5 mL: of the sizes that have a price, 0.5 mL for 105.00 costs least; by hand."""
    packs[1000].price = None
    packs[1000].save()
    line = make_line(packs[1000], amount=500)
    cheapest = ClinicPolicy(plan_preference=Preference.COST)
    [row] = planned(injector, patient, line, policy=cheapest)
    assert (opened(row), row.cost) == ({500: 1}, 10_500)


def test_what_the_clinic_no_longer_uses_is_not_ordered(injector, patient, packs):
    """
    6 mL are asked for, 5 lie there besides two of the line's own size, which nobody can open any
    more.
    """
    packs[1000].is_active = False
    packs[1000].save()
    lines = [make_line(packs[1000], side=side, amount=3000) for side in ("left", "right")]
    [row] = planned(injector, patient, *lines)
    assert row.to_order
    assert all(each.product.is_active for each in row.to_open)


def test_of_a_product_no_longer_in_use_nothing_lies_there_to_open(injector, owner, patient):
    alone = make_product("Alone", is_active=False)
    make_units(owner, alone)
    [row] = planned(injector, patient, make_line(alone, amount=400))
    assert [each.product for each in row.to_order] == [alone]


def test_open_units_of_one_product_do_not_hide_those_of_another(injector, owner, patient, packs):
    """Three shared vials that expire first are open in the rooms, and one syringe is kept."""
    toxin = make_product(
        "OnabotulinumtoxinA", kind=ProductKind.TOXIN, content=10_000, lidocaine_ug_per_ml=0,
        is_single_patient=False, price=30_000,
    )  # fmt: skip
    vials = make_units(
        owner, toxin, number="T1", quantity=3, expires_on=timezone.localdate() + timedelta(days=30)
    )
    syringe = packs[1000].lots.get().units.first()
    session = make_session_with_unit(injector, patient, syringe)
    make_point(session, syringe, amount=300)
    for vial in vials:
        put_on_tray(session=session, unit=vial, actor=injector)
    remainders = {vial.pk: Remainder.SHARED for vial in vials} | {syringe.pk: Remainder.KEPT}
    sign_session(session=session, remainders=remainders, actor=injector)
    glabella = make_line(toxin, region="glabella", side="midline", amount=2_000)
    [row] = planned(injector, patient, make_line(packs[1000], amount=700), glabella)
    assert syringe in row.in_use
    assert not row.to_open
    # A share of a vial that is open anyway is not free of charge.
    assert (row.unpriced, row.cost) == ([toxin], None)


def test_a_stage_does_not_begin_before_its_weeks_are_over(injector, patient, packs):
    with time_machine.travel(timezone.now() - timedelta(days=7)):
        plan = make_plan(injector, patient, None, make_line(packs[1000]))
        stage = add_stage(plan=plan, weeks_after=4, actor=injector)
        add_copies(stage=stage, lines=[make_line(packs[1000])], actor=injector)
        sign_session(session=make_session(injector, patient), remainders={}, actor=injector)
    [row] = units_for(read(plan), ClinicPolicy())
    assert row.on == timezone.localdate() + timedelta(days=21)


def test_other_products_of_the_maker_are_not_mixed_in(injector, owner, patient, packs):
    make_units(owner, make_product("Soft", line="HA filler soft", content=500), number="S1")
    [row] = planned(injector, patient, make_line(packs[1000], amount=500))
    assert {each.product.line for each in row.to_open} == {FIRM}


def test_a_product_without_a_line_is_taken_as_it_is(injector, owner, patient):
    alone = make_product("Alone", content=1000)
    make_units(owner, alone, number="A1")
    make_units(owner, make_product("Alone too", content=500), number="A2")
    [row] = planned(injector, patient, make_line(alone, amount=400))
    assert [each.product for each in row.to_open] == [alone]


def test_queries_do_not_grow_with_the_plan(injector, patient, packs):
    firm = packs[1000]
    lines = [make_line(firm, region=region) for region in ("zygomatic", "temple", "buccal")]
    plan = make_plan(injector, patient, None, lines[0])
    with CaptureQueriesContext(connection) as one:
        units_for(read(plan), ClinicPolicy())
    add_copies(stage=plan.stages.get(), lines=lines[1:], actor=injector)
    with CaptureQueriesContext(connection) as three:
        units_for(read(plan), ClinicPolicy())
    assert len(one) == len(three)

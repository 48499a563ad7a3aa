"""The plan as tablets are told of it."""

import pytest
from django.utils import timezone

from records.charting.queries.day import day_json
from records.charting.queries.plans import plans_of_patients
from records.charting.queries.snapshot import snapshots
from records.plans.services.lines import add_copies
from records.plans.services.plans import add_stage
from tests.factories import make_line, make_plan, make_product, make_session, make_units

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan(injector, patient):
    product = make_product("Firm 1 mL", line="Firm")
    make_product("Firm 2 mL", line="Firm", content=2000)
    make_units(injector, product)
    plan = make_plan(injector, patient, product)
    second = add_stage(plan=plan, weeks_after=4, actor=injector)
    add_copies(stage=second, lines=[make_line(product, region="temple")], actor=injector)
    return plan


def test_before_the_session_the_next_stage_is_told_with_the_patient(injector, patient, plan):
    told = plans_of_patients([patient.pk])[patient.pk]
    assert (told["title"], told["stage"], told["stages"]) == ("Cheeks", 1, 2)
    line, chin = told["lines"]
    assert (line["region"], line["amount"], line["product_name"]) == ("zygomatic", 600, "Firm")
    assert len(line["products"]) == 2
    assert (line["view"], chin["view"]) == ("front", "front")
    day = day_json(injector, [patient], timezone.localdate())
    assert day["patients"][0]["plan"] == told


def test_a_session_shows_the_stage_it_took_up_and_the_day_the_one_after(injector, patient, plan):
    session = make_session(injector, patient)
    assert plans_of_patients([patient.pk])[patient.pk]["stage"] == 2
    shown = snapshots([session], injector)[str(session.key)]
    assert shown["plan"]["stage"] == 1
    assert [line["region"] for line in shown["plan"]["lines"]] == ["zygomatic", "mental"]
    assert shown["plan"]["units"] == [{"name": "Firm 1 mL", "units": 1}]


def test_without_a_plan_nothing_is_told(injector, patient):
    session = make_session(injector, patient)
    assert snapshots([session], injector)[str(session.key)]["plan"] is None

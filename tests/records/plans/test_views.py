"""The pages of plans, as an injector uses them."""

import pytest
from django.urls import reverse

from clinic.policy.models import ClinicPolicy
from records.plans.enums import PlanEnd
from records.plans.models import Plan, PlanLine, PlanTemplate
from records.plans.services.plans import end_plan
from records.plans.services.templates import save_as_template
from tests.factories import make_line, make_patient, make_plan, make_product, make_units, refreshed

pytestmark = pytest.mark.django_db

LINE = {
    "region": "temple", "side": "left", "plane": "supraperiosteal", "technique": "bolus",
    "instrument": "needle", "gauge": "27", "length_mm": "19", "amount": "0.5", "note": "",
}  # fmt: skip


@pytest.fixture
def product(owner):
    product = make_product(price=18_000)
    make_units(owner, product)
    return product


@pytest.fixture
def plan(injector, patient, product) -> Plan:
    return make_plan(injector, patient, product)


@pytest.fixture
def browse(signed_in, injector):
    return signed_in(injector)


def url(name: str, *args) -> str:
    return reverse(name, args=args)


def test_a_plan_is_started_from_a_template(browse, injector, plan, product):
    template = save_as_template(plan=plan, name="Cheeks and chin", actor=injector)
    other = make_patient(injector, "Bo Example")
    data = {"title": "Cheeks", "template": template.pk}
    answer = browse.post(url("plan-start", other.pk), data, follow=True)
    made = other.plans.get()
    assert answer.redirect_chain[-1][0] == url("plan-detail", made.pk)
    assert [str(line) for line in made.stages.get().lines.all()] == [
        "Zygomatic region, left",
        "Mental region, midline",
    ]
    # Nobody starts a second one beside it.
    assert browse.get(url("plan-start", other.pk))["Location"] == url("plan-detail", made.pk)


def test_the_page_says_what_is_opened_and_what_it_costs(browse, plan):
    text = browse.get(url("plan-detail", plan.pk)).content.decode()
    assert "EUR\u00a0180.00" in text
    assert "0.8\u00a0mL</span> planned" in text
    assert "0.2\u00a0mL</span> left over" in text
    assert 'data-marks-of="front" data-count="2"' in text


def test_the_currency_is_the_clinics_own(browse, plan):
    ClinicPolicy.objects.create(currency="GBP")
    assert "GBP\u00a0180.00" in browse.get(url("plan-detail", plan.pk)).content.decode()


def test_a_line_is_added_from_a_touch_on_both_sides(browse, plan, product):
    stage = plan.stages.get()
    address = url("plan-line-create", stage.pk)
    form = browse.get(f"{address}?region=temple&side=left").context["form"]
    assert (form["region"].value(), form["side"].value()) == ("temple", "left")
    unknown = browse.get(f"{address}?region=elbow&side=up").context["form"]
    assert not unknown["region"].value()
    browse.post(address, LINE | {"product": product.pk, "both_sides": "on"})
    sides = stage.lines.filter(region="temple").values_list("side", "amount")
    assert sorted(sides) == [("left", 500), ("right", 500)]


@pytest.mark.parametrize(
    ("wrong", "field", "words"),
    [
        ({"side": "midline"}, "side", "This region comes in pairs: choose left or right."),
        ({"amount": "5 units"}, "amount", "mL"),
        ({"amount": ""}, "amount", "Amount is required."),
        ({"amount": "500"}, "amount", "is more than 20 units of HA filler 1 mL. Type at most 20"),
        ({"product": ""}, "amount", "Choose the product first"),
        ({"region": ""}, "region", "Region is required."),
        ({"gauge": "900"}, "gauge", "Type a whole number from 14 to 40."),
        ({"region": "mental", "side": "midline", "both_sides": "on"}, "both_sides", "midline"),
    ],
)
def test_a_line_that_cannot_be_is_refused_on_its_field(browse, plan, product, wrong, field, words):
    data = {"product": product.pk, **LINE, "note": "keep me", **wrong}
    answer = browse.post(url("plan-line-create", plan.stages.get().pk), data)
    assert answer.status_code == 422
    assert words in answer.context["form"].errors[field][0]
    assert "keep me" in answer.content.decode()


def test_a_line_is_changed_and_taken_out(browse, plan, product):
    line = plan.stages.get().lines.first()
    address = url("plan-line-edit", line.pk)
    assert browse.get(address).context["form"]["amount"].value() == "0.6"
    browse.post(address, LINE | {"product": product.pk, "amount": "0.45 mL"})
    assert refreshed(line).amount == 450
    answer = browse.post(url("plan-line-remove", line.pk), follow=True)
    assert "Taken out: Temporal region, left." in answer.content.decode()
    assert not PlanLine.objects.filter(pk=line.pk).exists()


def test_one_pack_of_each_product_is_offered(browse, plan, product):
    product.line = "HA filler"
    product.save()
    make_product("Smaller pack", line="HA filler", content=500)
    make_product("Lidocaine", kind="anaesthetic")
    make_product("Old one", is_active=False)
    form = browse.get(url("plan-line-create", plan.stages.get().pk)).context["form"]
    assert [label for _, label in form.fields["product"].choices][1:] == [
        "HA filler (hyaluronic acid filler)"
    ]


def test_stages_come_and_go(browse, plan):
    answer = browse.post(url("plan-stage-add", plan.pk))
    assert answer["Location"].endswith("?stage=2")
    second = plan.stages.get(number=2)
    browse.post(url("plan-stage-edit", second.pk), {"weeks_after": "6"})
    assert refreshed(second).weeks_after == 6
    browse.post(url("plan-stage-remove", second.pk))
    assert plan.stages.count() == 1
    answer = browse.post(url("plan-stage-remove", plan.stages.get().pk), follow=True)
    assert "Only the last of several stages can be taken away." in answer.content.decode()


def test_a_template_is_kept_applied_and_offered_no_longer(browse, plan):
    browse.post(url("plan-template-save", plan.pk), {"name": "Cheeks"})
    template = PlanTemplate.objects.get()
    again = browse.post(url("plan-template-save", plan.pk), {"name": "Cheeks"})
    assert "Name what differs" in again.content.decode()
    stage = plan.stages.get()
    browse.post(url("plan-template-apply", stage.pk), {"template": template.pk})
    assert stage.lines.count() == 4
    answer = browse.post(url("plan-template-apply", stage.pk), {"template": ""}, follow=True)
    assert "Choose one of the templates first." in answer.content.decode()
    browse.post(url("plan-template-edit", template.pk), {"name": "Cheeks", "is_active": ""})
    assert not refreshed(template).is_active
    assert "no longer offered" in browse.get(url("plan-template-list")).content.decode()


def test_a_plan_is_ended_with_a_reason(browse, plan):
    refused = browse.post(url("plan-end", plan.pk), {"end": "given_up", "reason": ""})
    assert refused.context["form"].errors["reason"] == ["Say why the plan is given up."]
    browse.post(url("plan-end", plan.pk), {"end": "given_up", "reason": "Too dear"})
    text = browse.get(url("plan-detail", plan.pk)).content.decode()
    assert "given up" in text
    assert "Too dear" in text
    assert "Add a line" not in text


def test_the_patients_page_has_the_open_plan_and_the_ended_ones(browse, injector, plan, product):
    end_plan(plan=plan, end=PlanEnd.CARRIED_OUT, reason="", actor=injector)
    make_plan(injector, plan.patient, product, make_line(product), title="Lips <b>")
    text = browse.get(url("plan-for-patient", plan.patient_id)).content.decode()
    assert "Lips &lt;b&gt;" in text
    assert "carried out" in text
    assert "Start a plan" not in text


def test_the_list_shows_open_plans_in_as_many_queries_for_three_as_for_one(
    browse, injector, plan, product, django_assert_max_num_queries
):
    with django_assert_max_num_queries(14):
        browse.get(url("plan-list"))
    for name in ("Bo", "Cy"):
        make_plan(injector, make_patient(injector, name), product)
    with django_assert_max_num_queries(14):
        text = browse.get(url("plan-list")).content.decode()
    assert text.count("1: to come") == 3


def test_two_people_on_one_line_do_not_undo_each_other(browse, plan, product):
    """One changed the amount, the other the note, each from the page as it was before."""
    line = plan.stages.get().lines.first()
    address = url("plan-line-edit", line.pk)
    page = browse.get(address).context["form"]
    seen = {
        bound.html_initial_name: bound.initial for bound in page if bound.field.show_hidden_initial
    }
    seen = {name: "" if value is None else value for name, value in seen.items()}
    shown = {name.removeprefix("initial-"): value for name, value in seen.items()}
    browse.post(address, seen | shown | {"amount": "0.7"})
    browse.post(address, seen | shown | {"note": "Little here"})
    line.refresh_from_db()
    assert (line.amount, line.note) == (700, "Little here")
    again = browse.post(address, seen | shown | {"amount": "0.5"})
    assert "Somebody changed this from “0.6” to “0.7”" in again.content.decode()

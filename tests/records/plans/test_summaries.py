"""What the patient is given in writing."""

import pytest
from django.urls import reverse

from clinic.audit.models import AuditEvent
from clinic.policy.models import ClinicPolicy
from clinic.review_rules.models import EffectDuration
from records.plans.errors import PlanError
from records.plans.models import Plan
from records.plans.queries.plans import with_lines
from records.plans.queries.quotes import quote_of
from records.plans.services.lines import add_copies
from records.plans.services.plans import add_stage, change_plan, start_plan
from records.plans.services.summaries import issue_summary
from tests.factories import make_line, make_patient, make_plan, make_product, make_units
from tests.pdf import pdf_text

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan(injector, owner, patient):
    product = make_product(price=18_000, typical_duration_months=9)
    make_units(owner, product, quantity=6)
    plan = make_plan(injector, patient, product)
    stage = add_stage(plan=plan, weeks_after=4, actor=injector)
    add_copies(stage=stage, lines=[make_line(product, side="right")], actor=injector)
    plan.alternatives = "Skin care\nNothing but <time>"
    plan.note = "Not for the patient"
    return change_plan(plan=plan, actor=injector)


def test_summary_says_regions_products_amounts_price_duration_and_alternatives(plan, injector):
    ClinicPolicy.objects.create(currency="GBP", emergency_contact="020 7946 0199")
    summary = issue_summary(plan=plan, actor=injector)
    text = pdf_text(summary.pdf)
    for words in (
        "Cheekbone left HA filler 1 mL 0.6 mL",
        "Chin midline HA filler 1 mL 0.2 mL",
        "Session 2, 4 weeks after session 1",
        "GBP 360.00",
        "midface, lower face about 9 months this clinic’s note of the product",
        "Having no treatment",
        "Nothing but <time>",
        "020 7946 0199",
    ):
        assert words in text, words
    assert "Not for the patient" not in text
    assert (summary.total, summary.currency) == (36_000, "GBP")


def test_what_was_given_out_is_given_out_again_byte_for_byte(plan, injector, signed_in):
    first = issue_summary(plan=plan, actor=injector)
    second = issue_summary(plan=plan, actor=injector)
    assert (first.number, second.number) == (1, 2)
    answer = signed_in(injector).get(reverse("plan-summary-pdf", args=[first.pk]))
    assert answer.content == bytes(first.pdf)
    assert AuditEvent.objects.filter(action="plan.summary_printed").count() == 1


def test_nothing_is_printed_of_an_empty_plan(injector):
    plan = start_plan(patient=make_patient(injector, "Bo"), title="Lips", actor=injector)
    with pytest.raises(PlanError, match="Nothing is left"):
        issue_summary(plan=plan, actor=injector)


def test_a_range_of_the_clinic_or_a_published_one_comes_before_the_products_own(injector, patient):
    """Toxin in the upper face: about 3 to 4 months (dilution guide of onabotulinumtoxinA)."""
    toxin = make_product("OnabotulinumtoxinA", kind="toxin", content=10_000, lidocaine_ug_per_ml=0)
    filler = make_product(typical_duration_months=9)
    lines = [
        make_line(toxin, region="glabella", side="midline", plane="intramuscular", amount=2_000),
        make_line(filler, region="upper_lip"),
    ]
    EffectDuration.objects.create(
        kind="ha_filler", group="lips", least_months=6, most_months=8, backing="clinic_policy",
    )  # fmt: skip
    plan = make_plan(injector, patient, None, *lines)
    plan = with_lines(Plan.objects.filter(pk=plan.pk)).get()
    rows = quote_of(plan, ClinicPolicy()).durations
    assert [(row.name, row.text) for row in rows] == [
        ("OnabotulinumtoxinA", "3 to 4 months"),
        ("HA filler 1 mL", "6 to 8 months"),
    ]
    assert "published source" in rows[0].source

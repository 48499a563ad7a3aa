"""Giving the patient a plan in writing: what, where, for how much, and what else there is."""

import hashlib

from django.utils import timezone

from clinic.audit.services import acting
from clinic.policy.queries import current_policy
from clinic.printing.documents import document_html
from clinic.printing.pdf import render_pdf
from planning.ages import age_years
from records.plans.errors import PlanError
from records.plans.models import Plan, PlanSummary
from records.plans.queries.plans import with_lines
from records.plans.queries.quotes import Quote, quote_of
from records.plans.queries.summaries import summary_content
from records.plans.services.plans import lock_open


def issue_summary(*, plan: Plan, actor) -> PlanSummary:
    """
    The plan as it stands, as a PDF that is kept byte for byte.

    Raises:
        PlanClosed: the plan ended.
        PlanError: nothing is planned that was not treated yet.
    """
    policy = current_policy()
    plan = with_lines(Plan.objects.select_related("patient", "made_by").filter(pk=plan.pk)).get()
    quote = quote_of(plan, policy)
    if not quote.stages:
        raise PlanError("Nothing is left to be treated in this plan, so there is nothing to print.")
    # Rendered outside the transaction: it takes a good part of a second.
    pdf = render_pdf(summary_html(plan, quote))
    with acting(actor) as trail:
        lock_open(plan.pk)
        summary = PlanSummary.objects.create(
            plan=plan,
            number=plan.summaries.count() + 1,
            pdf=pdf,
            digest=hashlib.sha256(pdf).hexdigest(),
            total=quote.total,
            currency=quote.currency,
            issued_at=timezone.now(),
            issued_by=actor,
        )
        after = {"number": summary.number, "digest": summary.digest, "total": summary.total}
        trail.add("plan.summary_issued", summary, patient_id=plan.patient_id, after=after)
    return summary


def summary_html(plan: Plan, quote: Quote) -> str:
    """The summary as the HTML that is printed."""
    today = timezone.localdate()
    context = {
        "plan": plan,
        "policy": current_policy(),
        "quote": quote,
        "today": today,
        "age": age_years(plan.patient.birth_date, today),
        "summary": summary_content(quote, plan.patient),
    }
    return document_html("print/plan_summary.html", context)

"""The mailings of a case: its panel, and starting one."""

from itertools import islice

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.audit.services import record_read
from clinic.policy.queries import current_policy
from planning.merging import fill
from records.mailings.errors import MailingError, NoSender
from records.mailings.queries import common_words
from records.recalls.errors import CaseClosed
from records.recalls.forms.mailings import CaseMailingForm
from records.recalls.models import RecallCase
from records.recalls.queries.extent import Extent
from records.recalls.queries.mailings import (
    mailings_of,
    people_with_words,
    recipients,
    without_address,
    without_points,
)
from records.recalls.services.mailings import start_case_mailing
from records.recalls.views.shared import find_case, look_at


@allow(Role.OWNER)
@require_GET
def recall_mailings(request: HttpRequest, pk: int) -> HttpResponse:
    """The case's mailings, for the page of the case."""
    case = find_case(pk)
    context = {"case": case, "rows": mailings_of(case)}
    return render(request, "recalls/_mailing_list.html", context)


@allow(Role.OWNER)
@require_http_methods(["GET", "POST"])
def mailing_start(request: HttpRequest, pk: int) -> HttpResponse:
    """Choose text, channel and people; what the first of them would read stands beside."""
    page = look_at(request, pk)
    if not page.case.is_open:
        messages.error(request, f"{page.case} is closed: nobody is written to any more.")
        return redirect("recall-detail", pk)
    form = CaseMailingForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            mailing = start_case_mailing(case=page.case, actor=request.user, **form.choice)
        except NoSender as refusal:
            form.add_error("channel", str(refusal))
        except MailingError as refusal:
            form.add_error(None, str(refusal))
        except CaseClosed as refusal:
            messages.error(request, str(refusal))
            return redirect("recall-detail", pk)
        else:
            return redirect("mailing-detail", mailing.pk)
    unfinished = [row for row in mailings_of(page.case) if row[0].finished_at is None]
    context = page.context(form=form, unfinished=unfinished, leaves=settings.EMAIL_LEAVES)
    return render(
        request, "recalls/mailing_start.html", context, status=422 if form.errors else 200
    )


@allow(Role.OWNER)
@require_POST
def mailing_preview(request: HttpRequest, pk: int) -> HttpResponse:
    """How many would be written to, and what the first of them would read."""
    page, form = look_at(request, pk), CaseMailingForm(request.POST)
    context = page.context(is_chosen=form.is_valid())
    if form.is_valid():
        context |= _preview(request, page.case, page.extent, form.choice)
    return render(request, "recalls/_mailing_preview.html", context)


def _preview(request: HttpRequest, case: RecallCase, extent: Extent, choice: dict) -> dict:
    people = recipients(case, choice["whom"])
    shown = {
        "count": people.count(),
        "no_address": without_address(people, choice["channel"]),
        "no_points": without_points(people, extent),
        "day": timezone.localdate(),
    }
    for patient, words in islice(people_with_words(case, extent, choice["whom"]), 1):
        record_read(request.user, patient, patient_id=patient.pk)
        filled = words | common_words(patient, current_policy(), timezone.now())
        template = choice["template"]
        shown["subject"] = fill(template.subject, filled)
        shown["body"] = fill(template.body, filled)
    return shown

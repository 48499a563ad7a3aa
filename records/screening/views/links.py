"""
The patient's own link: made by the clinic, opened by the patient.

The patient's page tells nobody's name. It answers with status 200 whatever comes, because the
server's log keeps the address of a request it refuses, and the address holds the token. Opening it
changes nothing: programs that check e-mails open every link.
"""

from typing import cast

import segno
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.safestring import mark_safe
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.rules import EVERYONE, allow, public
from clinic.policy.queries import current_policy
from clinic.staff.models import User
from records.patients.models import Patient
from records.reminders.enums import MessageKind
from records.reminders.errors import ReminderError
from records.reminders.models import Message
from records.reminders.queries import reach, reminder_policy
from records.reminders.services.inviting import ask_by_link
from records.reminders.tokens import TOKEN_LENGTH
from records.reminders.wording import link_of
from records.screening.errors import FormClosed
from records.screening.forms import HistoryFillForm
from records.screening.models import HistoryLink
from records.screening.services.histories import send_history
from records.screening.services.links import form_behind, make_link, note_try, was_answered


@allow(*EVERYONE)
@require_POST
def link_make(request: HttpRequest, pk: int) -> HttpResponse:
    patient = get_object_or_404(Patient, pk=pk)
    link = make_link(patient=patient, actor=cast(User, request.user))
    return redirect("screening-link", pk=link.pk)


@allow(*EVERYONE)
@require_GET
def link_show(request: HttpRequest, pk: int) -> HttpResponse:
    """The address to copy, and as a code for the patient's own telephone."""
    links = HistoryLink.objects.select_related("form__patient").filter(
        form__answered_at=None, form__withdrawn_at=None
    )
    link = get_object_or_404(links, pk=pk)
    address = link_of(link.reference, MessageKind.QUESTIONS)
    context = {
        "link": link,
        "patient": link.form.patient,
        "address": address,
        "code": _drawn(address),
        "way": reach(link.form.patient),
        "is_on": reminder_policy().is_on,
        "message": Message.objects.filter(reference=link.reference).first(),
    }
    return render(request, "screening/link.html", context)


@allow(*EVERYONE)
@require_POST
def link_send(request: HttpRequest, pk: int) -> HttpResponse:
    """Send the address by e-mail or text message, as the patient agreed."""
    link = get_object_or_404(HistoryLink.objects.select_related("form__patient"), pk=pk)
    try:
        way = ask_by_link(
            patient=link.form.patient,
            reference=link.reference,
            until=link.expires_at,
            actor=request.user,
        )
    except ReminderError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"It goes by {way.route.label.lower()} to {way.recipient}.")
    return redirect("screening-link", pk=pk)


def _drawn(address: str) -> str:
    """The address as a QR code (ISO/IEC 18004), an SVG without a size of its own."""
    code = segno.make(address, error="m", micro=False)
    # Shapes of numbers alone: nothing that anybody typed stands in it.
    return mark_safe(code.svg_inline(omitsize=True, border=2, light="#fff", svgclass="code-drawn"))  # noqa: S308


@public
# The token in the address is what a forged request would have to know. No Referer is sent from
# here, without which Django's own check refuses every form.
@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
def by_link(request: HttpRequest, token: str) -> HttpResponse:
    """The questions, without a sign-in."""
    clinic = current_policy()
    if was_answered(token):
        return _private(render(request, "screening/link_thanks.html", {"clinic": clinic}))
    history = form_behind(token)
    if history is None:
        return no_such_link(request, token)
    form = HistoryFillForm(
        history.questionnaire, request.POST if request.method == "POST" else None, start_from={}
    )
    if request.method == "POST" and form.is_valid():
        try:
            send_history(form=history, answers=form.answers, actor=None)
        except FormClosed:
            return no_such_link(request, token)
        return _private(redirect("screening-by-link", token=token))
    if request.method == "POST":
        note_try(history)
    context = {"form": form, "history": history, "clinic": clinic}
    return _private(render(request, "screening/fill_link.html", context))


@public
@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
def no_such_link(request: HttpRequest, rest: str = "") -> HttpResponse:
    """An address that ended or was typed wrong, or to which a mail program added a sign."""
    token = rest[:TOKEN_LENGTH]
    if token != rest and form_behind(token):
        return _private(redirect("screening-by-link", token=token))
    return _private(render(request, "reminders/answer_gone.html", {"clinic": current_policy()}))


def _private(response: HttpResponse) -> HttpResponse:
    """Kept nowhere, listed nowhere, and told to no other site."""
    response["Cache-Control"] = "no-store"
    response["Referrer-Policy"] = "no-referrer"
    response["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    return response

"""
The page behind the link of a message, for patients.

It tells nobody's name and nothing of the visit but when and where. Opening it changes nothing:
programs that check e-mails open every link. It answers with status 200 whatever comes, because the
server's log keeps the address of a request it refuses, and the address holds the token.
"""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from clinic.access.rules import public
from clinic.policy.queries import current_policy
from records.appointments.errors import TimeTaken
from records.reminders.enums import AnswerKind
from records.reminders.errors import ReminderError
from records.reminders.forms import AnswerForm
from records.reminders.private_pages import kept_private
from records.reminders.services.answering import answer_by, answer_to, message_of
from records.reminders.services.offering import offer_of
from records.reminders.tokens import TOKEN_LENGTH
from records.reminders.wording import place_of
from records.waiting_list.errors import EntryClosed, OfferClosed
from records.waiting_list.models import Offer
from records.waiting_list.services.offers import accept, decline


@public
# The token in the address is what a forged request would have to know. No Referer is sent from
# here, without which Django's own check refuses every form.
@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
def answer_page(request: HttpRequest, token: str) -> HttpResponse:
    if offer := offer_of(token):
        return kept_private(_offer_page(request, offer, token))
    message = message_of(token)
    if message is None:
        return no_such_page(request, token)
    form = AnswerForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        kind = AnswerKind(form.cleaned_data["kind"])
        note = form.cleaned_data["note"] if kind != AnswerKind.COMES else ""
        try:
            answer_by(message=message, kind=kind, note=note)
        except ReminderError as error:
            form.add_error(None, str(error))
        else:
            return kept_private(redirect("reminder-answer", token=token))
    given = answer_to(message)
    if given and not form.is_bound:
        form = AnswerForm(initial={"kind": given.kind, "note": given.note})
    when = timezone.localtime(message.starts_at)
    clinic = current_policy()
    place = place_of(message.appointment, clinic)
    context = {"form": form, "given": given, "when": when, "clinic": clinic, "place": place}
    return kept_private(render(request, "reminders/answer.html", context))


@public
@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
def no_such_page(request: HttpRequest, rest: str = "") -> HttpResponse:
    """
    An address that was typed wrong, or to which a mail program added a sign. Patients must not meet
    the staff's page about it.
    """
    token = rest[:TOKEN_LENGTH]
    if token != rest and (message_of(token) or offer_of(token)):
        return kept_private(redirect("reminder-answer", token=token))
    return kept_private(render(request, "reminders/answer_gone.html", {"clinic": current_policy()}))


def _offer_page(request: HttpRequest, offer: Offer, token: str) -> HttpResponse:
    """A time on offer: taken, or given to the next, by one press."""
    problem, is_left = "", False
    if request.method == "POST":
        act = {"take": accept, "leave": decline}.get(request.POST.get("answer", ""))
        try:
            if act is not None:
                act(offer, actor=None)
                if act is accept:
                    return redirect("reminder-answer", token=token)
                is_left = True
            else:
                problem = "Choose one of the two."
        except (OfferClosed, EntryClosed, TimeTaken):
            problem = "This time is no longer free. Please call us."
    clinic, visit = current_policy(), offer.appointment
    context = {
        "offer": offer,
        "problem": problem,
        "is_left": is_left,
        "when": timezone.localtime(visit.starts_at),
        "clinic": clinic,
        "place": place_of(visit, clinic),
    }
    return render(request, "reminders/answer_offer.html", context)

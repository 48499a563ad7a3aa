"""
What a patient opens by a link: the sheet, and the question of the day after.

As the answer pages of messages: nobody's name, nothing kept, no session, and status 200 whatever
comes, because the server's log keeps the address of a request it refuses.
"""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_safe

from clinic.access.rules import public
from clinic.policy.queries import current_policy
from planning.aftercare import EMERGENCY_LINES
from planning.sources import VISION_SIGNS
from records.aftercare.enums import Feeling
from records.aftercare.errors import AftercareError
from records.aftercare.forms import CheckInForm
from records.aftercare.queries import Content, check_in_behind, sheet_behind
from records.aftercare.services.checking_in import answer_check_in
from records.reminders.private_pages import kept_private
from records.reminders.tokens import TOKEN_LENGTH


@public
@require_safe
def sheet_page(request: HttpRequest, token: str) -> HttpResponse:
    sheet = sheet_behind(token)
    if sheet is None:
        return no_such_page(request, token)
    context = {"content": Content.of_json(sheet.content), "clinic": current_policy()}
    return kept_private(render(request, "aftercare/page.html", context))


@public
# The token in the address is what a forged request would have to know; see records.reminders.
@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
def check_in_page(request: HttpRequest, token: str) -> HttpResponse:
    check_in = check_in_behind(token)
    if check_in is None:
        return no_such_page(request, token)
    form = CheckInForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        try:
            answer_check_in(
                check_in=check_in, feeling=Feeling(said["feeling"]), signs=said["signs"],
                note=said["note"],
            )  # fmt: skip
        except AftercareError as error:
            form.add_error(None, str(error))
        else:
            return kept_private(redirect("aftercare-check-in", token=token))
    given = check_in.answers.first()
    if given and not form.is_bound:
        said_before = {"feeling": given.feeling, "signs": given.signs, "note": given.note}
        form = CheckInForm(initial=said_before)
    clinic = current_policy()
    context = {
        "form": form,
        "given": given,
        "clinic": clinic,
        "contact": clinic.emergency_contact or clinic.phone,
        "emergency_lines": EMERGENCY_LINES,
        "source": VISION_SIGNS,
    }
    return kept_private(render(request, "aftercare/check_in.html", context))


@public
@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
def no_such_page(request: HttpRequest, rest: str = "") -> HttpResponse:
    """An address that was typed wrong, ended, or to which a mail program added a sign."""
    token = rest[:TOKEN_LENGTH]
    if token != rest:
        if sheet_behind(token):
            return kept_private(redirect("aftercare-page", token=token))
        if check_in_behind(token):
            return kept_private(redirect("aftercare-check-in", token=token))
    clinic = current_policy()
    return kept_private(render(request, "reminders/answer_gone.html", {"clinic": clinic}))

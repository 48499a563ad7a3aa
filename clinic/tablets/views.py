"""What a tablet asks of the clinic as a device."""

from uuid import UUID

from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils.crypto import salted_hmac
from django.views.decorators.debug import sensitive_post_parameters, sensitive_variables
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clinic.access.enums import Role
from clinic.access.rules import EVERYONE, allow
from clinic.access.sent import sent_json
from clinic.policy.queries import current_policy
from clinic.sign_in.errors import TooManyTries
from clinic.sign_in.services import proves
from clinic.tablets.errors import CodeError
from clinic.tablets.forms import TakeBackForm
from clinic.tablets.handing_over import is_handed_over, open_page, take_back, tries_left
from clinic.tablets.services import enrol_code


@allow(Role.INJECTOR)
@require_POST
@sensitive_variables()
def tablet_code(request: HttpRequest) -> JsonResponse:
    """
    Keep the quick code of whoever is signed in, for one tablet.

    JSON {device, salt, key, iterations, password} -> {"set": true}, or 422 {"message"}.
    """
    try:
        sent = sent_json(request)
        values = {name: _text(sent, name) for name in ("salt", "key", "password")}
        device, iterations = UUID(_text(sent, "device")), sent["iterations"]
    except (ValueError, KeyError, TypeError):
        return _refused("The code did not arrive whole. Load the page anew and set it again.")
    try:
        enrol_code(user=request.user, device=device, iterations=iterations, **values)
    except CodeError as error:
        return _refused(str(error))
    return JsonResponse({"set": True})


@allow(Role.INJECTOR)
@require_safe
def tablet_session(request: HttpRequest) -> JsonResponse:
    """
    Who is signed in, and a name for this sign-in that says nothing of its key.

    A locked tablet opens when the name has changed: somebody has given the password again.
    """
    key = request.session.session_key or ""
    name = salted_hmac("clinic.tablets.session", key, algorithm="sha256").hexdigest()
    return JsonResponse({"user": request.user.pk, "session": name})


@allow(Role.INJECTOR)
@require_POST
@sensitive_variables()
def tablet_unlock(request: HttpRequest) -> JsonResponse:
    """
    Whether this is the password of whoever is signed in; opens a tablet without a quick code.

    JSON {password} -> {"right": true}, or 422 {"message"}.
    """
    try:
        password = _text(sent_json(request), "password")
    except (ValueError, KeyError, TypeError):
        return _refused("The password did not arrive. Type it again.")
    try:
        is_own = proves(request.user, password)
    except TooManyTries as error:
        return _refused(str(error))
    if not is_own:
        return _refused("This is not your password. Small and capital letters count.")
    return JsonResponse({"right": True})


@allow(*EVERYONE)
@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def tablet_take_back(request: HttpRequest) -> HttpResponse:
    """Thank the patient; the password of whoever is signed in opens the clinic again."""
    if not is_handed_over(request):
        return redirect("today")
    sent = request.POST if request.method == "POST" else None
    form = TakeBackForm(sent, user=request.user)
    if sent is not None:
        if form.is_valid():
            return render(request, "tablets/taken_back.html", {"back": take_back(request)})
        if tries_left(request) <= 0:
            logout(request)
            return redirect("staff-login")
    context = {"form": form, "clinic": current_policy(), "open_page": open_page(request)}
    return render(request, "tablets/take_back.html", context, status=422 if form.errors else 200)


def _text(sent: dict, name: str) -> str:
    value = sent[name]
    if not isinstance(value, str):
        raise TypeError(name)
    return value


def _refused(message: str) -> JsonResponse:
    return JsonResponse({"message": message}, status=422)

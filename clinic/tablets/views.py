"""What a tablet asks of the clinic as a device."""

from uuid import UUID

from django.http import HttpRequest, JsonResponse
from django.utils.crypto import salted_hmac
from django.views.decorators.debug import sensitive_variables
from django.views.decorators.http import require_POST, require_safe

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.access.sent import sent_json
from clinic.tablets.errors import CodeError
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
    if not request.user.check_password(password):
        return _refused("This is not your password. Small and capital letters count.")
    return JsonResponse({"right": True})


def _text(sent: dict, name: str) -> str:
    value = sent[name]
    if not isinstance(value, str):
        raise TypeError(name)
    return value


def _refused(message: str) -> JsonResponse:
    return JsonResponse({"message": message}, status=422)

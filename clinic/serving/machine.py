"""Who may read what is for the clinic's own machine."""

from django.conf import settings
from django.http import HttpRequest
from django.utils.crypto import constant_time_compare

# "" where the application server listens on a socket of the file system.
THIS_MACHINE = {"127.0.0.1", "::1", ""}
# Set by every proxy that hands a request on (RFC 7239 and what was usual before).
HANDED_ON = ("Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Real-IP")


def is_of_the_machine(request: HttpRequest) -> bool:
    """
    Asked on this machine and handed on by no proxy, or with the token of CLINIC_METRICS_TOKEN.

    A proxy on the same machine comes from the same address as whoever looks after it, so that the
    address alone tells nothing.
    """
    if settings.METRICS_TOKEN:
        word, _, token = request.headers.get("Authorization", "").partition(" ")
        if word == "Bearer" and constant_time_compare(token, settings.METRICS_TOKEN):
            return True
    was_handed_on = any(name in request.headers for name in HANDED_ON)
    return not was_handed_on and request.META.get("REMOTE_ADDR", "") in THIS_MACHINE

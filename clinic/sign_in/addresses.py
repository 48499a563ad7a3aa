"""Where a request comes from."""

import ipaddress

from django.conf import settings
from django.http import HttpRequest


def address_of(request: HttpRequest) -> str | None:
    """
    The sender's address; None where none is known, as on a socket of the file system.

    Behind the proxy of `deploy/` it stands in X-Forwarded-For, which the proxy writes anew. The
    last part is what the proxy itself saw; what stands before it anybody can write.
    """
    told = request.META.get("REMOTE_ADDR", "")
    if settings.SECURE:
        told = request.headers.get("X-Forwarded-For", told).rpartition(",")[2].strip()
    try:
        return str(ipaddress.ip_address(told))
    except ValueError:
        return None

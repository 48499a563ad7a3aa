"""What pages behind a patient's link have in common."""

from django.http import HttpResponse


def kept_private(response: HttpResponse) -> HttpResponse:
    """Kept nowhere, listed nowhere, and told to no other site."""
    response["Cache-Control"] = "no-store"
    response["Referrer-Policy"] = "no-referrer"
    response["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    return response

"""What tablets keep to draw with, at an address that changes with it."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_GET

from clinic.access.rules import CLINICAL, allow
from records.charting.queries.reference import reference_seal, reference_text


@allow(*CLINICAL)
@require_GET
def reference(request: HttpRequest, seal: str) -> HttpResponse:
    """
    Nothing of a patient is in it. A tablet with the address of an older one gets today's, and is
    not told to keep it under that address.
    """
    is_current = seal == reference_seal()
    kept = "private, max-age=31536000, immutable" if is_current else "no-cache"
    headers = {"Cache-Control": kept}
    return HttpResponse(reference_text(), content_type="application/json", headers=headers)

"""
The pictures themselves, for clinical staff.

Whoever opens one in full or on the screen is noted in the trail; for the thumbnails the page that
shows them notes it. A thumbnail may stay in the person's own browser for a while, nothing else.
"""

import uuid

from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_GET

from clinic.access.rules import CLINICAL, allow
from clinic.audit.services import record_read
from records.photographs.services.small import picture_bytes, small_bytes
from records.photographs.views.finding import find_photograph

# Seconds; one of another person is asked for anew (Vary: Cookie).
_THUMBNAIL_STAYS = 3600


@allow(*CLINICAL)
@require_GET
def photograph_file(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """In full resolution."""
    photograph = find_photograph(request, key)
    try:
        data = picture_bytes(photograph, "file")
    except FileNotFoundError as error:
        raise _gone() from error
    record_read(
        request.user, photograph, patient_id=photograph.patient_id, action="read.full_photograph"
    )
    return _jpeg(data, "no-store")


@allow(*CLINICAL)
@require_GET
def photograph_preview(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """As large as a screen shows it."""
    photograph = find_photograph(request, key)
    try:
        data, _ = small_bytes(photograph, "preview")
    except FileNotFoundError as error:
        raise _gone() from error
    record_read(request.user, photograph, patient_id=photograph.patient_id)
    return _jpeg(data, "private, no-store")


@allow(*CLINICAL)
@require_GET
def photograph_thumbnail(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """As large as a tile of a list."""
    photograph = find_photograph(request, key)
    try:
        data, is_stored = small_bytes(photograph, "thumbnail")
    except FileNotFoundError as error:
        raise _gone() from error
    return _jpeg(data, f"private, max-age={_THUMBNAIL_STAYS}" if is_stored else "private, no-store")


def _gone() -> Http404:
    return Http404("The file of this photograph is not in var/pictures.")


def _jpeg(data: bytes, cache: str) -> HttpResponse:
    headers = {
        "Content-Disposition": 'inline; filename="photograph.jpg"',
        "Cache-Control": cache,
        "Vary": "Cookie",
        "X-Content-Type-Options": "nosniff",
    }
    return HttpResponse(data, content_type="image/jpeg", headers=headers)
